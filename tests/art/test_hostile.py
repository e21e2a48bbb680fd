"""Hostile and damaged files: nothing but our own error leaves the reading of one."""

from __future__ import annotations

import io
import random
import struct
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from prepcheck.art.limits import Limits
from prepcheck.art.model import Artwork
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError, UnreadableError
from prepcheck.geometry import Affine
from tests.art.test_raster import psd, ramp
from tests.factories import Pdf, Raw, Ref, Stream

SMALL = Limits(
    picture_pixels=4_000_000, picture_bytes=16_000_000, stream_bytes=8_000_000, pages=20,
    objects=50_000, depth=20, array_items=20_000,
)  # fmt: skip


def rich_pdf() -> bytes:
    """Return a PDF that uses a bit of everything."""
    pdf = Pdf("1.7")
    group = pdf.add(
        {"Type": "OCG", "Name": b"Cut", "GTS_Metadata": {"GTS_ProcStepsGroup": "White"}}
    )
    pdf.catalog["OCProperties"] = {"OCGs": [group], "D": {"OFF": [group]}}
    pdf.catalog["Names"] = {"JavaScript": {"Names": [b"a", {"S": "JavaScript", "JS": b"x"}]}}
    pdf.catalog["AcroForm"] = {"Fields": [{"T": b"f"}]}
    pdf.catalog["OutputIntents"] = [{"S": "GTS_PDFX", "OutputConditionIdentifier": b"FOGRA39"}]
    pdf.info["GTS_PDFXVersion"] = b"PDF/X-3:2002"
    image = pdf.add(
        Stream(
            ramp(8, 8, 3).tobytes(),
            {
                "Subtype": "Image", "Width": 8, "Height": 8, "BitsPerComponent": 8,
                "ColorSpace": "DeviceRGB",
            },
            deflate=True,
        )
    )  # fmt: skip
    tint = {"FunctionType": 2, "Domain": [0, 1], "C0": [0], "C1": [1], "N": 1}
    form = pdf.add(
        Stream(
            b"0 0 5 5 re W n /S cs 1 scn 0 0 9 9 re f",
            {
                "Subtype": "Form", "BBox": [0, 0, 9, 9], "Matrix": [2, 0, 0, 2, 0, 0],
                "Resources": {"ColorSpace": {"S": ["Separation", "Gold", "DeviceGray", tint]}},
            },
            deflate=True,
        )
    )  # fmt: skip
    content = (
        "/OC /L BDC 0 0 10 10 re f EMC q 50 0 0 50 10 10 cm /I Do Q /F Do "
        "BT /T 12 Tf 20 20 Td (Side A) Tj [(x) -200 (y)] TJ ET 0.2 w 0 0 m 30 30 l S "
        "BI /W 2 /H 2 /CS /G /BPC 8 ID abcd EI"
    )
    pdf.page(
        content,
        (100, 100),
        trim_mm=(3, 3, 97, 97),
        resources={
            "XObject": {"I": image, "F": form},
            "Properties": {"L": group},
            "Font": {"T": {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica"}},
        },
        Annots=[{"Subtype": "Text", "Rect": [0, 0, 9, 9]}],
        Rotate=90,
    )
    return pdf.bytes()


def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def exercise(path: Path, limits: Limits = SMALL) -> Artwork | None:
    """Open a file and read all of it; None where it is refused by our own error, file named."""
    try:
        art = open_art(path, limits)
        read_all(art)
    except ArtworkError as error:
        lines = error.lines
    else:
        return art
    assert lines
    assert [line for line in lines if not line.startswith(f"{path.name}: ")] == []
    return None


def read_all(art: Artwork) -> None:
    for page in art.pages:
        content = page.content(Affine.scale(1.5))
        for image in content.images[:20]:
            page.picture(image.key)


SOURCES: dict[str, Callable[[], bytes]] = {
    "pdf": rich_pdf,
    "tiff-lzw": lambda: saved(
        Image.fromarray(ramp(40, 40, 4), "CMYK"), "TIFF", compression="tiff_lzw"
    ),
    "tiff-fax": lambda: saved(
        Image.fromarray(ramp(40, 40, 1)[:, :, 0] > 99), "TIFF", compression="group4"
    ),
    "tiff-jpeg": lambda: saved(Image.fromarray(ramp(40, 40, 3)), "TIFF", compression="jpeg"),
    "jpeg": lambda: saved(Image.fromarray(ramp(40, 40, 4), "CMYK"), "JPEG"),
    "png": lambda: saved(Image.fromarray(ramp(40, 40, 4), "RGBA"), "PNG", dpi=(300, 300)),
    "psd": lambda: psd(ramp(20, 20, 4), 4, packed=True),
}


@pytest.mark.parametrize("kind", list(SOURCES))
def test_whole_files_are_read(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "art.bin"
    path.write_bytes(SOURCES[kind]())
    assert exercise(path) is not None


@pytest.mark.parametrize("kind", list(SOURCES))
def test_mutations(tmp_path: Path, kind: str) -> None:
    """Bytes changed, stretches cut out, doubled or zeroed, files cut short: 150 of each kind."""
    source = SOURCES[kind]()
    path = tmp_path / "art.bin"
    for seed in range(150):
        path.write_bytes(mutated(source, random.Random(seed)))
        exercise(path)


def mutated(source: bytes, chance: random.Random) -> bytes:
    data = bytearray(source)
    for _ in range(chance.choice((1, 1, 2, 4, 16))):
        at = chance.randrange(len(data))
        span = chance.randrange(1, 40)
        match chance.randrange(6):
            case 0:
                data[at] = chance.randrange(256)
            case 1:
                data[at] ^= 1 << chance.randrange(8)
            case 2:
                del data[at : at + span]
            case 3:
                data[at:at] = data[at : at + span]
            case 4:
                data[at : at + span] = bytes(span)
            case _:
                digits = [place for place in range(len(data)) if data[place] in b"0123456789"]
                if digits:
                    data[chance.choice(digits)] = chance.choice(b"0123456789-")
        if not data:
            return b""
    return bytes(data[: chance.randrange(len(data))] if chance.random() < 0.1 else data)


@settings(
    max_examples=60, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(st.binary(max_size=400), st.sampled_from([
    b"", b"%PDF-1.4\n", b"II*\0\x08\0\0\0", b"MM\0*\0\0\0\x08", b"II+\0\x08\0\0\0",
    b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"8BPS\0\1\0\0\0\0\0\0\0\4",
]))  # fmt: skip
def test_random_bytes(tmp_path: Path, tail: bytes, head: bytes) -> None:
    path = tmp_path / "art.bin"
    path.write_bytes(head + tail)
    exercise(path)


def refused(folder: Path, source: bytes, limits: Limits = SMALL) -> str:
    """Return the one sentence a file is refused with, by opening or by walking it."""
    path = folder / "art.bin"
    path.write_bytes(source)
    with pytest.raises(UnreadableError) as caught:
        read_all(open_art(path, limits))
    (line,) = caught.value.lines
    return line


def walked(folder: Path, pdf: Pdf) -> Artwork:
    path = folder / "art.bin"
    path.write_bytes(pdf.bytes())
    art = exercise(path)
    assert art is not None
    return art


def test_content_that_unpacks_without_end(tmp_path: Path) -> None:
    pdf = Pdf()
    pdf.page("", (10, 10), Contents=pdf.add(Stream(b"q Q " * 10_000_000, deflate=True)))
    assert "unpacks to more than 8 MB" in refused(tmp_path, pdf.bytes())


def test_bomb_in_a_bomb(tmp_path: Path) -> None:
    pdf = Pdf()
    data = zlib.compress(zlib.compress(bytes(60_000_000)))
    pdf.page("", (10, 10), Contents=pdf.add(Stream(data, {"Filter": ["FlateDecode"] * 2})))
    assert "unpacks to more than" in refused(tmp_path, pdf.bytes())


def test_many_filters(tmp_path: Path) -> None:
    pdf = Pdf()
    stream = Stream(b"00>", {"Filter": ["ASCIIHexDecode"] * 50})
    pdf.page("", (10, 10), Contents=pdf.add(stream))
    assert "50 filters" in refused(tmp_path, pdf.bytes())


def test_deep_nesting_of_arrays(tmp_path: Path) -> None:
    pdf = Pdf()
    pdf.page("", (10, 10), Annots=Raw("[" * 50_000 + "]" * 50_000))
    path = tmp_path / "art.bin"
    path.write_bytes(pdf.bytes())
    exercise(path)


def test_form_within_itself(tmp_path: Path) -> None:
    pdf = Pdf()
    form = pdf.add(None)
    pdf.put(
        form,
        Stream(
            b"/F Do 0 0 5 5 re f",
            {"Subtype": "Form", "BBox": [0, 0, 9, 9], "Resources": {"XObject": {"F": form}}},
        ),
    )
    pdf.page("/F Do", (10, 10), resources={"XObject": {"F": form}})
    walked(tmp_path, pdf)


def test_forms_that_multiply(tmp_path: Path) -> None:
    """Thirty forms, each drawing the next one ten times, would paint 10³⁰ boxes."""
    pdf = Pdf()
    inner = pdf.add(Stream(b"0 0 1 1 re f", {"Subtype": "Form", "BBox": [0, 0, 9, 9]}))
    for _ in range(30):
        inner = pdf.add(
            Stream(
                b"/F Do " * 10,
                {"Subtype": "Form", "BBox": [0, 0, 9, 9], "Resources": {"XObject": {"F": inner}}},
            )
        )
    pdf.page("/F Do", (10, 10), resources={"XObject": {"F": inner}})
    said = refused(tmp_path, pdf.bytes(), replace(SMALL, forms=500, depth=40))
    assert "it draws 501 forms" in said
    assert "500 is the limit" in said


def test_parent_in_a_circle(tmp_path: Path) -> None:
    pdf = Pdf()
    page = pdf.page("", (10, 10), MediaBox=None)
    pdf.tree["Parent"] = page
    art = walked(tmp_path, pdf)
    assert len(art.pages) == 1


def test_page_trees_that_share_branches(tmp_path: Path) -> None:
    """A tree of 15 levels, each listing the next twice ten times over, has 20¹⁵ leaves."""
    pdf = Pdf()
    node = pdf.page("", (10, 10))
    for _ in range(15):
        node = pdf.add({"Type": "Pages", "Kids": [node] * 20})
    pdf._pages[:] = [node]
    art = walked(tmp_path, pdf)
    assert len(art.pages) == SMALL.pages
    assert any("page tree" in trouble for trouble in art.document.troubles)


def test_empty_trees_that_share_branches(tmp_path: Path) -> None:
    pdf = Pdf()
    pdf.page("", (10, 10))
    node = pdf.add({"Type": "Pages", "Kids": []})
    for _ in range(15):
        node = pdf.add({"Type": "Pages", "Kids": [node] * 20})
    pdf._pages.insert(0, node)
    assert "no pages" in refused(tmp_path, pdf.bytes())


def test_deep_page_tree(tmp_path: Path) -> None:
    pdf = Pdf()
    node = pdf.page("", (10, 10))
    for _ in range(3000):
        node = pdf.add({"Type": "Pages", "Kids": [node]})
    pdf._pages[:] = [node]
    assert "no pages" in refused(tmp_path, pdf.bytes())


def test_references_in_a_circle(tmp_path: Path) -> None:
    pdf = Pdf()
    one, two = pdf.add(None), pdf.add(None)
    pdf.put(one, two)
    pdf.put(two, one)
    pdf.page("", (10, 10), TrimBox=one, Rotate=two, UserUnit=one, Annots=two)
    path = tmp_path / "art.bin"
    path.write_bytes(pdf.bytes())
    exercise(path)


def test_name_tree_in_a_circle(tmp_path: Path) -> None:
    pdf = Pdf()
    node = pdf.add(None)
    pdf.put(node, {"Kids": [node], "Names": [b"a", {"F": b"x.txt"}]})
    pdf.catalog["Names"] = {"EmbeddedFiles": node}
    pdf.catalog["AcroForm"] = {"Fields": [Ref(node)]}
    pdf.page("", (10, 10))
    assert walked(tmp_path, pdf).document.embedded_files == ("x.txt",)


def test_more_objects_than_any_art_has(tmp_path: Path) -> None:
    pdf = Pdf()
    pdf.page("", (10, 10))
    source = pdf.bytes()
    head, tail = source.split(b"xref\n", 1)
    entries = b"0000000009 00000 n \n" * 60_000
    source = head + b"xref\n0 60000\n" + entries + tail[tail.index(b"trailer") :]
    source = source.replace(
        source[source.rindex(b"startxref") :], b"startxref\n%d\n%%%%EOF" % len(head)
    )
    refused(tmp_path, source)


def test_cross_reference_cut_off(tmp_path: Path) -> None:
    source = rich_pdf()
    for share in (0.2, 0.5, 0.9, 0.99):
        path = tmp_path / "art.bin"
        path.write_bytes(source[: int(len(source) * share)])
        exercise(path)


@pytest.mark.parametrize("size", [(60_000, 60_000), (2**31 - 1, 1), (2**31 - 1, 2**31 - 1)])
@pytest.mark.parametrize("kind", ["png", "tiff", "psd", "jpeg"])
def test_claims_of_huge_pictures(tmp_path: Path, kind: str, size: tuple[int, int]) -> None:
    """A small file may claim any size; the header is believed only within the limits."""
    width, height = size
    if kind == "png":
        body = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
        chunk = b"IHDR" + body
        source = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk
        source += struct.pack(">I", zlib.crc32(chunk))
        data = b"IDAT" + zlib.compress(bytes(100))
        source += struct.pack(">I", len(data) - 4) + data + struct.pack(">I", zlib.crc32(data))
    elif kind == "psd":
        source = struct.pack(">4sH6xHIIHH", b"8BPS", 1, 4, height, width, 8, 4) + bytes(64)
    elif kind == "jpeg":
        whole = saved(Image.new("RGB", (8, 8)), "JPEG")
        at = whole.index(b"\xff\xc0") + 5
        source = whole[:at] + struct.pack(">HH", height & 0xFFFF, width & 0xFFFF) + whole[at + 4 :]
    else:
        tags = (
            (256, width), (257, height), (258, 8), (259, 1), (262, 1), (273, 8), (277, 1),
            (278, height), (279, 100),
        )  # fmt: skip
        source = struct.pack("<2sHIH", b"II", 42, 8, len(tags))
        source += b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in tags)
        source += bytes(104)
    refused(tmp_path, source)


def test_pillows_own_limit_is_left_alone(tmp_path: Path) -> None:
    """A picture above Pillow's warning size but within ours is read, without a warning."""
    before = Image.MAX_IMAGE_PIXELS
    assert before is not None
    height = before // 10_000 + 10
    path = tmp_path / "art.bin"
    path.write_bytes(saved(Image.fromarray(np.zeros((height, 10_000), bool)), "PNG"))
    art = open_art(path)
    assert art.raster is not None
    assert art.raster.samples == (10_000, height)
    assert before == Image.MAX_IMAGE_PIXELS


def test_a_slip_of_ours_is_not_blamed_on_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "label.pdf"
    path.write_bytes(rich_pdf())
    page = open_art(path).pages[0]
    monkeypatch.setattr("prepcheck.art.pdf.content.walk.Interpreter", None)
    with pytest.raises(TypeError):
        page.content(Affine.identity())
