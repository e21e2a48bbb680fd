"""What is on a sheet: the client's bytes untouched, marks where they may be, boxes, layers."""

import io
import math
import random
import re
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, StreamObject

from prepcheck.art.open import open_art
from prepcheck.art.raster import RasterPage
from prepcheck.errors import UnreadableError, UsageError
from prepcheck.geometry import Affine, Box
from prepcheck.labelsheet.art_picture import picture_image
from prepcheck.labelsheet.model import Art, Layout, RoundPiece
from prepcheck.labelsheet.paper import Paper, paper_of
from prepcheck.labelsheet.plan import laid_out
from prepcheck.press.render import render_view
from prepcheck.press.separate.plates import make_plates
from tests.factories import PT, Pdf, Stream, disc_path
from tests.labelsheet.pictures import plain_tiff
from tests.labelsheet.sheets import alone, art_of, at_positions, sheet_of, to_compare

PIECE = RoundPiece(40, 3, 7.24)
PAPER = Paper(220, 160)
RUST = {"FunctionType": 2, "Domain": [0, 1], "N": 1, "C0": [0, 0, 0, 0], "C1": [0, 0.7, 0.9, 0]}
SPOT = ["Separation", "LFR Rust", "DeviceCMYK", RUST]


def label(folder: Path, name: str, *, hidden: bool, intent: str | None, **page: object) -> Path:
    """Write a label in a spot with a layer that is off, and an output intent."""
    pdf = Pdf()
    group = pdf.add({"Type": "OCG", "Name": f"Notes {name}".encode("latin-1")})
    state = {"BaseState": "OFF"} if hidden else {"OFF": [group]}
    pdf.catalog["OCProperties"] = {"OCGs": [group], "D": state}
    if intent is not None:
        pdf.catalog["OutputIntents"] = [
            {"S": "GTS_PDFX", "OutputConditionIdentifier": intent.encode()}
        ]
    pdf.page(
        f"/Spot cs 0.8 scn {disc_path(25, 25, 25)} f /O gs 0 0 0 1 k 10 30 30 5 re f "
        "/OC /Notes BDC 1 0 0 0 k 0 0 50 50 re f EMC",
        (50, 50),
        trim_mm=(5, 5, 45, 45),
        resources={
            "ColorSpace": {"Spot": SPOT},
            "ExtGState": {"O": {"OP": True, "op": True, "OPM": 1}},
            "Properties": {"Notes": group},
        },
        **page,
    )
    path = folder / f"{name}.pdf"
    path.write_bytes(pdf.bytes())
    return path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Art], Layout, Path]:
    folder = tmp_path_factory.mktemp("sheet")
    arts = [
        art_of(label(folder, "a", hidden=False, intent="FOGRA39")),
        art_of(label(folder, "b", hidden=True, intent="FOGRA39", Rotate=90, UserUnit=1.0)),
    ]
    path = folder / "sheet.pdf"
    layout, _ = sheet_of(arts, PAPER, PIECE, ["Black", "LFR Rust"], path, turns=[30, 75])
    return arts, layout, path


def test_pages_go_on_untouched_as_forms(made: tuple[list[Art], Layout, Path]) -> None:
    arts, _, path = made
    page = PdfReader(path).pages[0]
    for number, art in enumerate(arts, 1):
        form = page["/Resources"]["/XObject"][f"/Label{number}"].get_object()  # type: ignore[index]
        source = PdfReader(io.BytesIO(art.data)).pages[0]
        content = source["/Contents"].get_object()
        assert isinstance(form, StreamObject)
        assert form._data == content._data
        assert form["/Subtype"] == "/Form"
        assert same(form["/Resources"], source["/Resources"])
        assert [float(side) for side in form["/BBox"]] == pytest.approx(source.mediabox)  # type: ignore[arg-type]


def same(one: object, other: object) -> bool:
    one, other = (value.get_object() if hasattr(value, "get_object") else value
                  for value in (one, other))  # fmt: skip
    if isinstance(one, DictionaryObject) and isinstance(other, DictionaryObject):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, ArrayObject) and isinstance(other, ArrayObject):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and one == other


def test_layers_and_the_output_intent_are_as_in_the_files(
    made: tuple[list[Art], Layout, Path],
) -> None:
    facts = open_art(made[2]).document
    assert {layer.name: layer.prints for layer in facts.layers} == {
        "Notes a": False, "Notes b": False,
    }  # fmt: skip
    assert [intent.condition for intent in facts.output_intents] == ["FOGRA39"]


def test_every_position_of_turned_pages(made: tuple[list[Art], Layout, Path]) -> None:
    arts, layout, path = made
    page = open_art(path).pages[0]
    for position, plates in zip(layout.positions, at_positions(layout, page, 72), strict=True):
        own = alone(arts[position.label], layout, 72)
        assert plates.inks == own.inks
        looked = to_compare(layout, own.data.shape[1:], 72)
        wrong = np.abs(plates.data.astype(int) - own.data)[:, looked]
        assert wrong.mean() < 1.0
        assert plates.plate("Cyan").max() == 0  # the layer is off
        assert plates.plate("LFR Rust")[looked].max() == pytest.approx(204, abs=1)


def test_boxes_are_valid_and_bytes_the_same_again(
    made: tuple[list[Art], Layout, Path], tmp_path: Path
) -> None:
    arts, _, path = made
    page = PdfReader(path).pages[0]
    for box in (page.mediabox, page.cropbox, page.bleedbox, page.trimbox):
        assert [float(n) for n in box] == pytest.approx([0, 0, 220 * PT, 160 * PT], abs=1e-3)
    again = [art_of(art.page.document.path) for art in arts]  # type: ignore[attr-defined]
    sheet_of(again, PAPER, PIECE, ["Black", "LFR Rust"], tmp_path / "b.pdf", turns=[30, 75])
    assert (tmp_path / "b.pdf").read_bytes() == path.read_bytes()


def test_files_meant_for_different_output_share_no_sheet(tmp_path: Path) -> None:
    arts = [
        art_of(label(tmp_path, "a", hidden=False, intent="FOGRA39")),
        art_of(label(tmp_path, "b", hidden=False, intent="FOGRA52")),
    ]
    with pytest.raises(UsageError, match="FOGRA39 and FOGRA52"):
        sheet_of(arts, PAPER, PIECE, ["Black"], tmp_path / "sheet.pdf")


@pytest.mark.parametrize(
    ("size", "piece", "gap"),
    [("SRA3", RoundPiece(100, 3, 7.24), 2.0), ("SRA3", RoundPiece(92, 3, 38.1), 0.0),
     ("A3", RoundPiece(50, 3, None), 1.0)],
)  # fmt: skip
def test_marks_keep_off_labels_and_gripper(
    size: str, piece: RoundPiece, gap: float, tmp_path: Path
) -> None:
    """Art is blank, so all ink on the sheet is marks."""
    pdf = Pdf()
    pdf.page("", (piece.printed, piece.printed))
    (tmp_path / "blank.pdf").write_bytes(pdf.bytes())
    paper = paper_of(size)
    inks = ["Cyan", "Black", "LFR Rust"]
    layout, page = sheet_of(
        [art_of(tmp_path / "blank.pdf")], paper, piece, inks, tmp_path / "sheet.pdf", gap=gap
    )
    plates = make_plates(page, Affine.identity(), paper.box, 100)
    pitch = plates.grid.pitch
    xs, ys = (axis.astype(float) for axis in plates.grid.centres())
    near = np.full((len(ys), len(xs)), math.inf)
    for position in layout.positions:
        away = np.hypot(xs[None, :] - position.centre.x, ys[:, None] - position.centre.y)
        np.minimum(near, away, out=near)
    inked = plates.data.max(axis=0) > 8
    close = near < piece.printed / 2 + 0.5 - pitch
    in_hole = near < (piece.hole or 0.0) / 2
    assert not (inked & close & ~in_hole).any()
    assert bool((inked & in_hole).any()) is (piece.hole is not None)
    assert not inked[:, (xs < 1) | (xs > paper.width - 1)].any()
    assert not inked[ys < paper.gripper_mm - pitch].any()
    # Marks are in all plates, but for each plate's own patch and name; no plate has marks alone.
    marks = [plates.plate(ink).astype(int) for ink in inks]
    area = ys[:, None] < paper.height - 20
    assert all(np.array_equal(marks[0] * area, other * area) for other in marks[1:])
    assert plates.plate("Magenta").max() == 0
    for ink, plate in zip(inks, marks, strict=True):
        solid_mm2 = float((plate == 255).sum()) * pitch**2
        assert solid_mm2 > 20, ink
        others = [other for other in marks if other is not plate]
        own = (plate == 255) & np.all([other == 0 for other in others], axis=0)
        assert 16 < float(own.sum()) * pitch**2 < 40, ink
    assert min(
        sum(mark.centre == position.centre for mark in layout.cut_marks)
        for position in layout.positions
    ) >= 3  # fmt: skip


def test_the_arrangement_that_holds_more_is_taken() -> None:
    def kind(size: str, *names: str, **shares: int) -> tuple[str, int]:
        layout = laid_out(
            paper_of(size), RoundPiece(100, 3, 7.24), names, gap_mm=2, shares=shares, band_mm=9
        )
        return layout.kind, len(layout.positions)

    # By hand, 450 × 320 less margins: 4 × 2 in squares; 4 + 3 + 4 staggered.
    assert kind("SRA3", "A") == ("staggered", 11)
    assert kind("SRA3", "A", "B") == ("staggered", 10)
    assert kind("SRA3", "A", "B", A=4, B=4) == ("square", 8)  # cut apart by straight cuts
    assert kind("SRA3", "A", "B", A=5, B=4) == ("staggered", 9)
    assert kind("SRA3", "A", "B", "C", "D") == ("square", 8)  # eleven share no better than eight


def test_crosses_show_on_any_art(tmp_path: Path) -> None:
    pdf = Pdf()
    pdf.page("0 0 0 1 k 0 0 46 46 re f", (46, 46))
    (tmp_path / "black.pdf").write_bytes(pdf.bytes())
    layout, page = sheet_of(
        [art_of(tmp_path / "black.pdf")], Paper(90, 90), PIECE, ["Black"], tmp_path / "s.pdf"
    )
    x, y = layout.positions[0].centre
    plates = make_plates(page, Affine.identity(), Box(x - 2, y - 2, x + 2, y + 2), 600)
    row = plates.plate("Black")[10]  # across the upright arm
    middle = len(row) // 2
    assert row[middle - 1 : middle + 1].min() > 128
    assert row[middle - 6] == row[middle + 5] == 0  # the casing, 0.25 mm away
    assert row[0] == row[-1] == 255


def picture(folder: Path, name: str, mode: str, adobe: bool = True, **how: object) -> Path:
    """Write a picture of 47 × 47 mm at 100 ppi: smooth, and solid in one corner."""
    draw = random.Random(len(name))
    bands = len(Image.new(mode, (1, 1)).getbands())
    y, x = np.mgrid[0:185, 0:185]
    data = np.stack(
        [(x * draw.uniform(0.3, 1) + y * draw.uniform(0.1, 0.3)) % 255 for _ in range(bands)], 2
    ).astype(np.uint8)
    data[60:120, 60:90] = [200, 40, 120, 90][:bands]
    path = folder / name
    Image.fromarray(data if bands > 1 else data[:, :, 0], mode).save(path, dpi=(100, 100), **how)
    if not adobe:
        whole = path.read_bytes()
        at = whole.index(b"\xff\xee")
        path.write_bytes(whole[:at] + whole[at + 2 + int.from_bytes(whole[at + 2 : at + 4]) :])
    return path


def images(path: Path | io.BytesIO) -> list[StreamObject]:
    objects = PdfReader(path).pages[0]["/Resources"]["/XObject"]  # type: ignore[index]
    return [objects[key].get_object() for key in sorted(objects)]


def test_pictures_go_on_with_their_samples(tmp_path: Path) -> None:
    files = [
        picture(tmp_path, "grey.tif", "L", compression="tiff_lzw"),
        picture(tmp_path, "cmyk.tif", "CMYK"),
        picture(tmp_path, "inverted.jpg", "CMYK", quality=95),
        picture(tmp_path, "plain.jpg", "CMYK", adobe=False, quality=95),
        picture(tmp_path, "grey.png", "L"),
    ]
    arts = [art_of(file) for file in files]
    paper = Paper(220, 170)
    layout, page = sheet_of(
        arts, paper, PIECE, ["Cyan", "Magenta", "Yellow", "Black"], tmp_path / "sheet.pdf",
        shares=[1] * 5,
    )  # fmt: skip
    grey, cmyk, inverted, plain, png = images(tmp_path / "sheet.pdf")
    assert inverted._data == files[2].read_bytes()
    assert plain._data == files[3].read_bytes()
    assert inverted["/Decode"] == [1, 0] * 4
    assert "/Decode" not in plain
    for image, file in ((grey, files[0]), (cmyk, files[1]), (png, files[4])):
        with Image.open(file) as known:
            assert image.get_data() == np.asarray(known).tobytes()
    for position, plates in zip(layout.positions, at_positions(layout, page, 72), strict=True):
        own = alone(arts[position.label], layout, 72)
        looked = to_compare(layout, own.data.shape[1:], 72)
        wrong = np.abs(plates.data.astype(int) - own.data)[:, looked]
        assert wrong.mean() < 1.5, files[position.label].name


@pytest.mark.parametrize("orientation", [2, 3, 4, 5, 6, 7, 8])
def test_a_jpeg_is_turned_upright_as_its_file_says(orientation: int, tmp_path: Path) -> None:
    # The corner of the picture that is meant to be at the upper left, by EXIF 2.32, tag 274.
    stored = Image.new("L", (180, 180), 255)
    stored.paste(0, (60, 40, 90, 60))
    exif = Image.Exif()
    exif[274] = orientation
    stored.save(tmp_path / "turned.jpg", dpi=(100, 100), exif=exif, quality=95)
    art = art_of(tmp_path / "turned.jpg")
    layout, page = sheet_of([art], Paper(90, 90), PIECE, ["Black"], tmp_path / "s.pdf")
    placed, own = at_positions(layout, page, 72)[0], alone(art, layout, 72)
    looked = to_compare(layout, own.data.shape[1:], 72)
    assert own.plate("Black")[looked].max() > 200
    assert np.abs(placed.data.astype(int) - own.data)[:, looked].mean() < 1.0


def of_sheet(art: Art) -> StreamObject:
    """Return a picture as it is on a sheet, read back by pypdf."""
    assert isinstance(art.page, RasterPage)
    writer = PdfWriter()
    reference, _ = picture_image(art.page, art.data, writer)
    page = writer.add_blank_page(10, 10)
    objects = DictionaryObject({NameObject("/Label1"): reference})
    page[NameObject("/Resources")] = DictionaryObject({NameObject("/XObject"): objects})
    out = io.BytesIO()
    writer.write(out)
    return images(out)[0]


def numbers(image: StreamObject) -> np.ndarray:
    """Return an image's samples, 16 bits of them high byte first (ISO 32000-2, 8.9.3)."""
    depth = ">u2" if image["/BitsPerComponent"] == 16 else "u1"
    rows, columns = image["/Height"], image["/Width"]
    found = np.frombuffer(image.get_data(), depth).reshape(rows, columns, -1)
    return found[:, :, 0] if found.shape[2] == 1 else found


def ramp(channels: int, depth: type = np.uint16) -> np.ndarray:
    """Return (180, 180, channels) samples whose low bytes carry something."""
    rng = np.random.default_rng(channels)
    most = np.iinfo(depth).max
    y, x = np.mgrid[0:180, 0:180, 0:channels][:2] / 179
    slope = (0.2 + 0.7 * x) * rng.uniform(0.4, 1, channels) * (1 - 0.3 * y)
    return (slope * most).astype(depth)


@pytest.mark.parametrize("kind", ["grey", "rgb", "cmyk", "cmyk and a spot"])
def test_samples_of_16_bits_stay_so(kind: str, tmp_path: Path) -> None:
    channels, photometric = {"grey": (1, 1), "rgb": (3, 2), "cmyk": (4, 5),
                             "cmyk and a spot": (5, 5)}[kind]  # fmt: skip
    stored = ramp(channels)
    inks = b"Cyan\0Magenta\0Yellow\0Black\0LFR Rust\0" if channels == 5 else b""
    (tmp_path / "deep.tif").write_bytes(plain_tiff(stored, photometric, inks=inks))
    image = of_sheet(art_of(tmp_path / "deep.tif"))
    assert image["/BitsPerComponent"] == 16
    assert np.array_equal(numbers(image), stored[:, :, 0] if channels == 1 else stored)


def test_deep_pngs(tmp_path: Path) -> None:
    deep = ramp(1)[:, :, 0]
    Image.fromarray(deep).save(tmp_path / "deep.png", dpi=(100, 100))
    assert np.array_equal(np.frombuffer(of_sheet(art_of(tmp_path / "deep.png")).get_data(), ">u2"),
                          deep.ravel())  # fmt: skip
    keyed = (tmp_path / "deep.png").read_bytes()
    at = keyed.index(b"IDAT") - 4
    chunk = b"tRNS" + (4711).to_bytes(2, "big")
    chunk = (2).to_bytes(4, "big") + chunk + zlib.crc32(chunk).to_bytes(4, "big")
    (tmp_path / "keyed.png").write_bytes(keyed[:at] + chunk + keyed[at:])
    assert of_sheet(art_of(tmp_path / "keyed.png"))["/Mask"] == [4711, 4711]


@pytest.mark.parametrize(("colour", "interlaced", "what"), [
    (6, 0, "with an opacity channel"), (4, 0, "with an opacity channel"), (0, 1, "interlaced"),
])  # fmt: skip
def test_a_deep_png_that_cannot_stay_as_it_is(
    colour: int, interlaced: int, what: str, tmp_path: Path
) -> None:
    channels = {0: 1, 4: 2, 6: 4}[colour]
    head = struct.pack(">IIBBBBB", 1, 1, 16, colour, 0, 0, interlaced)
    body = zlib.compress(b"\0" + b"\x12\x34" * channels)
    chunks = [(b"IHDR", head), (b"pHYs", struct.pack(">IIB", 3937, 3937, 1)), (b"IDAT", body),
              (b"IEND", b"")]  # fmt: skip
    data = b"\x89PNG\r\n\x1a\n" + b"".join(
        len(body).to_bytes(4, "big") + kind + body + zlib.crc32(kind + body).to_bytes(4, "big")
        for kind, body in chunks
    )
    (tmp_path / "deep.png").write_bytes(data)
    with pytest.raises(UnreadableError, match=f"that is {what} cannot be put on a sheet as it is"):
        of_sheet(art_of(tmp_path / "deep.png"))


@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
@pytest.mark.parametrize("premultiplied", [False, True])
def test_a_tiffs_opacity_becomes_a_soft_mask(
    depth: type, premultiplied: bool, tmp_path: Path
) -> None:
    """Laid on white paper by hand, which is what a sheet is: α·c + (1 − α)."""
    stored = ramp(4, depth)
    if premultiplied:
        stored[:, :, :3] = np.minimum(stored[:, :, :3], stored[:, :, 3:])
    (tmp_path / "clear.tif").write_bytes(plain_tiff(stored, 2, extra=1 if premultiplied else 2))
    art = art_of(tmp_path / "clear.tif")
    image = of_sheet(art)
    mask = image["/SMask"].get_object()
    assert np.array_equal(numbers(image), stored[:, :, :3])
    assert np.array_equal(numbers(mask), stored[:, :, 3])
    assert ("/Matte" in mask) is premultiplied
    layout, page = sheet_of([art], Paper(90, 90), PIECE, ["Black"], tmp_path / "s.pdf")
    x, y = layout.positions[0].centre
    pitch = 25.4 / 100
    view = render_view(page, Affine.move(-x, -y), Box(-15, -15, 15, 15), 100)
    middle = np.s_[90 - 59 : 90 + 59, 90 - 59 : 90 + 59]
    alpha = stored[:, :, 3:][middle] / np.iinfo(depth).max
    colour = stored[:, :, :3][middle] / np.iinfo(depth).max
    laid = (colour if premultiplied else alpha * colour) + 1 - alpha
    side = laid.shape[0]
    shown = view.rgb[:side, :side] / 255
    away = np.hypot(*(np.mgrid[0:side, 0:side] - side / 2 + 0.5)) * pitch
    assert np.abs(shown - laid)[away > 4.5].mean() < 0.01


def test_deep_lab_is_offset_binary(tmp_path: Path) -> None:
    """a* and b* are signed in a TIFF, in 256ths (TIFF 6.0, section 23)."""
    lab = np.zeros((180, 180, 3), np.int16)
    lab[:, :] = (20_000, -3 * 256, 40 * 256)
    (tmp_path / "lab.tif").write_bytes(plain_tiff(lab.view(np.uint16), 8))
    image = of_sheet(art_of(tmp_path / "lab.tif"))
    low = [float(n) for n in image["/ColorSpace"][1]["/Range"]]  # type: ignore[index]
    l_star, a, b = (int(n) for n in numbers(image)[0, 0])
    # As ISO 32000-2, Table 88, has it decoded.
    assert l_star == 20_000
    assert low[0] + a / 65535 * (low[1] - low[0]) == pytest.approx(-3, abs=1e-3)
    assert low[2] + b / 65535 * (low[3] - low[2]) == pytest.approx(40, abs=1e-3)


def test_clear_and_indexed_pngs(tmp_path: Path) -> None:
    clear = Image.new("RGBA", (180, 180), (255, 0, 0, 0))
    clear.paste((0, 0, 0, 128), (50, 50, 130, 90))
    clear.save(tmp_path / "clear.png", dpi=(100, 100))
    palette = Image.new("P", (180, 180), 1)
    palette.putpalette([0, 0, 0, 255, 255, 255, 10, 200, 30])
    palette.paste(2, (50, 50, 130, 90))
    palette.save(tmp_path / "palette.png", dpi=(100, 100))
    arts = [art_of(tmp_path / name) for name in ("clear.png", "palette.png")]
    sheet_of(arts, Paper(140, 90), PIECE, ["Black"], tmp_path / "s.pdf", shares=[1, 1])
    one, two = images(tmp_path / "s.pdf")
    mask = one["/SMask"].get_object().get_data()  # type: ignore[attr-defined]
    assert mask == np.asarray(clear)[:, :, 3].tobytes()
    assert one.get_data() == np.asarray(clear)[:, :, :3].tobytes()
    assert two["/ColorSpace"][0] == "/Indexed"  # type: ignore[index]
    assert two["/ColorSpace"][3].get_object().get_data()[:9] == bytes(  # type: ignore[index]
        [0, 0, 0, 255, 255, 255, 10, 200, 30]
    )


def test_a_page_of_several_content_streams(tmp_path: Path) -> None:
    pdf = Pdf()
    parts = [pdf.add(Stream(part)) for part in (b"q 0 0 0 1 k 0 0 60", b" 60 re f Q")]
    ref = pdf.page("", (46, 46), Group={"S": "Transparency", "CS": "DeviceCMYK", "I": True})
    several = b"/Contents [%d 0 R %d 0 R]" % tuple(parts)
    pdf._objects[ref - 1] = re.sub(rb"/Contents \d+ 0 R", several, pdf._objects[ref - 1])
    (tmp_path / "parts.pdf").write_bytes(pdf.bytes())
    sheet_of([art_of(tmp_path / "parts.pdf")], Paper(90, 90), PIECE, ["Black"], tmp_path / "s.pdf")
    (form,) = images(tmp_path / "s.pdf")
    assert form.get_data().split() == b"q 0 0 0 1 k 0 0 60 60 re f Q".split()
    assert form["/Group"]["/CS"] == "/DeviceCMYK"  # type: ignore[index]
