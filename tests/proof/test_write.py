"""The proof as a file: its text, fonts, places, size, and that it appears whole or not at all."""

from __future__ import annotations

import io
import os
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from pypdf import PdfReader

from prepcheck.errors import OutputError
from prepcheck.geometry import Box, Grid
from prepcheck.proof.figures import CAUTION
from prepcheck.proof.model import Picture, ProofFor, ProofPage, ProofPart
from prepcheck.proof.write import proof_bytes, write_proof
from tests.proof import made_up

MM = 25.4 / 72


@cache
def typical() -> bytes:
    parts = made_up.order_parts()
    return proof_bytes(made_up.result_of(parts), parts, made_on=made_up.MADE_ON)


def proof_of(*parts: ProofPart, proof_for: ProofFor = "client") -> bytes:
    result = made_up.result_of(parts)
    return proof_bytes(result, parts, made_on=made_up.MADE_ON, proof_for=proof_for)


def squeezed(text: str) -> str:
    """Text without blanks: lines may break anywhere, and units are set with narrow spaces."""
    return re.sub(r"\s", "", unicodedata.normalize("NFKC", text))


def text_of(data: bytes) -> str:
    return squeezed("".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages))


def label_part(*findings: object, **more: object) -> ProofPart:
    return made_up.part_of(
        "label A", "label-12in", made_up.label_image(), 110, findings, **more  # type: ignore[arg-type]
    )  # fmt: skip


def test_the_text_of_every_finding_can_be_selected() -> None:
    text = text_of(typical())
    parts = made_up.order_parts()
    for part in parts:
        assert squeezed(part.result.sha256) in text
        assert squeezed(part.result.file) in text
        for finding in part.result.findings:
            for words in (finding.message, finding.fix, finding.source):
                assert squeezed(words) in text
    assert squeezed(CAUTION) in text
    for words in ("scale 1:1, true size", "scale 1:3", "KLP 0214", "14 March 2031", "0.6 mm",
                  "required 2 mm", "Approved with changes", "212 ppi"):  # fmt: skip
        assert squeezed(words) in text


@pytest.mark.parametrize(
    "name",
    [
        "Ærø Łódź", "Φώτα", "Огни", "लहर", "แสงไฟ", "港の灯り", "불빛", "լույս", "სინათლე",
        "জল", "★♥☮",
    ],
)  # fmt: skip
def test_names_in_many_scripts_are_text(name: str) -> None:
    order = replace(made_up.ORDER, title=name, client=name)
    data = proof_bytes(made_up.result_of((), order), (), made_on=made_up.MADE_ON)
    assert text_of(data).count(squeezed(name)) >= 2


@pytest.mark.parametrize("name", ["אורות הנמל", "ميناء", "नाविक गीत", "இளை", "কে"])
def test_names_drawn_in_another_order_are_read_back_in_their_own(name: str) -> None:
    order = replace(made_up.ORDER, title=name)
    data = proof_bytes(made_up.result_of((), order), (), made_on=made_up.MADE_ON)
    document = pdfium.PdfDocument(data)
    text = document[0].get_textpage().get_text_range()
    document.close()
    assert squeezed(name) in squeezed(text)


@pytest.mark.parametrize("name", ["\udc80.pdf", "\U000e0001", "a\x00b", "\U0001f3b5\U00020bb7", ""])
def test_odd_names_do_not_stop_the_proof(name: str) -> None:
    part = label_part(made_up.finding("stop", name, name))
    odd = ProofPart(replace(part.result, name=name, file=name), part.spec, part.pages)
    order = replace(made_up.ORDER, title=name, number=name)
    data = proof_bytes(made_up.result_of((odd,), order), (odd,), made_on=made_up.MADE_ON)
    assert len(PdfReader(io.BytesIO(data)).pages) >= 4


def fonts_of(data: bytes) -> Iterator[tuple[str, bool]]:
    for page in PdfReader(io.BytesIO(data)).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            descriptor = font.get_object().get("/FontDescriptor")
            file = None if descriptor is None else descriptor.get_object().get("/FontFile2")
            yield str(font.get_object()["/BaseFont"]), file is not None


def test_every_font_is_embedded() -> None:
    order = replace(made_up.ORDER, title="Łódź 灯り لا लहर")
    data = proof_bytes(made_up.result_of((), order), (), made_on=made_up.MADE_ON)
    found = dict([*fonts_of(typical()), *fonts_of(data)])
    assert len(found) >= 6
    assert [name for name, embedded in found.items() if not embedded] == []


def test_the_same_result_gives_the_same_bytes() -> None:
    parts = made_up.order_parts()
    assert proof_bytes(made_up.result_of(parts), parts, made_on=made_up.MADE_ON) == typical()


def test_a_typical_proof_is_small() -> None:
    parts = made_up.order_parts()
    pictures = sum(len(page.picture.data) for part in parts for page in part.pages)
    assert len(typical()) < 10_000_000
    assert len(typical()) < 1.5 * pictures + 1_000_000


# Places: mm in, points out. PDFium renders; what it shows is measured.

PPI = 254
PX = PPI / 25.4


def rendered(data: bytes, page: int) -> NDArray[np.int16]:
    document = pdfium.PdfDocument(data)
    try:
        array = document[page].render(scale=PPI / 72).to_numpy()[:, :, :3]
        return array[:, :, ::-1].astype(np.int16)
    finally:
        document.close()


def centre_of(mask: NDArray[np.bool_]) -> tuple[float, float]:
    """Return the mean place (column, row) of the pixels of a mask."""
    rows, columns = np.nonzero(mask)
    return float(columns.mean()) + 0.5, float(rows.mean()) + 0.5


def dotted(*places: tuple[float, float]) -> Picture:
    """A white picture of 120 mm, 10 pixels a mm, with pure green dots of 1 mm at places in mm."""
    image = Image.new("RGB", (1200, 1200), "white")
    draw = ImageDraw.Draw(image)
    for x, y in places:
        px, py = 600 + 10 * x, 600 - 10 * y
        draw.rectangle((px - 5, py - 5, px + 4, py + 4), (0, 255, 0))
    box = Box.centred(120, 120)
    return Picture(made_up.encode(image, "PNG"), Grid(1200, 1200, 0.1, box.x0, box.y1))


def green(image: NDArray[np.int16]) -> NDArray[np.bool_]:
    return (image[:, :, 1] > 200) & (image[:, :, 0] < 80) & (image[:, :, 2] < 80)


def test_art_and_marks_lie_at_true_scale_and_in_their_places() -> None:
    """PDFium's page objects: where the picture and the frame round a mark lie, in points."""
    part = label_part(made_up.finding("stop", "a", "b", made_up.box(30, 12, 8, 5)))
    data = proof_of(replace(part, pages=(ProofPage(1, 0, dotted()),)), proof_for="plant")
    document = pdfium.PdfDocument(data)
    objects = list(document[1].get_objects())
    pictures = [o.get_bounds() for o in objects if isinstance(o, pdfium.PdfImage)]
    paths = [o.get_bounds() for o in objects if o.type == pdfium.raw.FPDF_PAGEOBJ_PATH]
    document.close()
    ((left, bottom, right, top),) = pictures
    assert (right - left) * MM == pytest.approx(120.0, abs=0.005)
    assert (top - bottom) * MM == pytest.approx(120.0, abs=0.005)
    middle_x, middle_y = (left + right) / 2, (bottom + top) / 2
    frames = [
        (x1 - x0, y1 - y0)
        for x0, y0, x1, y1 in paths
        if ((x0 + x1) / 2 - middle_x) * MM == pytest.approx(30.0, abs=0.005)
        and ((y0 + y1) / 2 - middle_y) * MM == pytest.approx(12.0, abs=0.005)
    ]
    assert frames
    for width, height in frames:
        assert 8.0 / MM < width < 8.0 / MM + 7  # 1 pt off the place; PDFium adds the line's width
        assert width - height == pytest.approx(3.0 / MM, abs=0.01)


def test_the_trim_is_drawn_at_its_size_round_the_middle_of_the_art() -> None:
    part = label_part()
    page = ProofPage(1, 0, dotted((0.0, 0.0)))
    image = rendered(proof_of(replace(part, pages=(page,))), 1)
    x, y = centre_of(green(image))
    navy = (image[:, :, 2] - image[:, :, 0] > 25) & (image.sum(axis=2) < 260)
    row, column = navy[int(y)], navy[: int(y + 60 * PX), int(x)]
    radii = [
        np.abs(np.nonzero(row)[0] + 0.5 - x) / PX,
        np.abs(np.nonzero(column)[0] + 0.5 - y) / PX,
    ]
    for radius in radii:
        assert np.abs(radius - 50.0).min() < 0.08
        assert np.abs(radius - 3.62).min() < 0.08


def test_numbers_stand_outside_the_piece() -> None:
    """Callout numbers are the only red discs on the page above the list."""
    findings = tuple(
        made_up.finding("stop", f"finding {i}", "b", made_up.box(3 * i - 20, 2 * i - 12, 0.2, 0.2))
        for i in range(12)
    )
    part = label_part(*findings)
    document = pdfium.PdfDocument(proof_of(replace(part, pages=(ProofPage(1, 0, dotted((0, 0))),))))
    image = rendered(proof_of(replace(part, pages=(ProofPage(1, 0, dotted((0, 0))),))), 1)
    x, y = centre_of(green(image))
    text = document[1].get_textpage()
    height = document[1].get_height()
    places = []
    for i in range(text.count_chars()):
        left, bottom, right, top = text.get_charbox(i)
        cx, cy = (left + right) / 2 * MM, (height - (bottom + top) / 2) * MM
        if text.get_text_range(i, 1).isdigit() and abs(cy - y / PX) < 62 and abs(cx - x / PX) < 62:
            places.append((cx - x / PX, cy - y / PX))
    document.close()
    assert len(places) == 12 + 3  # 10, 11 and 12 have two figures
    assert min(np.hypot(*place) for place in places) > 53.0


# Layout: nothing overlaps, nothing leaves the page.


def lines_of(page: pdfium.PdfPage) -> list[tuple[float, float, float, float]]:
    text = page.get_textpage()
    return [text.get_rect(i) for i in range(text.count_rects())]


def crowded() -> tuple[ProofPart, ...]:
    findings = [
        made_up.finding(
            ("stop", "query", "note")[i % 3],
            f"Finding {i}: " + "words that go on for a while " * (1 + i % 5),
            "Do something about it. " * (1 + i % 3),
            *(
                made_up.box(45 * np.cos(k), 45 * np.sin(2 * k), 1 + k % 4, 1, rank=k)
                for k in range(400 if i == 7 else 1 + i % 6)
            ),
            measured=(0.126, "some words that are long", 212.0)[i % 3],
            required=(2.0, "Cyan, Magenta, Yellow and Black", 300.0)[i % 3],
            unit=("mm", "", "ppi")[i % 3],
            source="a source with a long name; " * (i % 4),
        )
        for i in range(60)
    ]
    findings[11] = replace(findings[11], message="word " * 1500)
    return (
        label_part(*findings),
        made_up.part_of(
            "jacket", "jacket-7in", made_up.jacket_image(380, 195), 380, tuple(findings[:25])
        ),
        made_up.part_of("bag", "inner-12in", made_up.jacket_image(325, 325), 325, tuple(findings)),
        *(made_up.unread_part() for _ in range(20)),
    )


@pytest.mark.parametrize("kind", ["typical", "crowded", "crowded for the plant"])
def test_no_two_lines_overlap_and_none_leaves_the_margins(kind: str) -> None:
    data = typical()
    if kind != "typical":
        data = proof_of(*crowded(), proof_for="client" if kind == "crowded" else "plant")
    document = pdfium.PdfDocument(data)
    faults = []
    for number in range(len(document)):
        page = document[number]
        width, height = page.get_size()
        boxes = sorted(lines_of(page), key=lambda box: -box[3])
        for left, bottom, right, top in boxes:
            if left < 48 or right > width - 50 or bottom < 20 or top > height - 20:
                faults.append((number + 1, "outside", (left, bottom, right, top)))
        for i, (l0, b0, r0, t0) in enumerate(boxes):
            for l1, b1, r1, t1 in boxes[i + 1 :]:
                if t1 < b0:
                    break
                across = min(r0, r1) - max(l0, l1)
                down = min(t0, t1) - max(b0, b1)
                if across > 0.5 and down > 0.25 * min(t0 - b0, t1 - b1):
                    faults.append((number + 1, "overlap", (l0, b0, r0, t0), (l1, b1, r1, t1)))
    document.close()
    assert faults == []


def test_a_crowded_proof_still_says_everything() -> None:
    parts = crowded()[:1]
    text = text_of(proof_of(*parts))
    for finding in parts[0].result.findings[:11]:
        assert squeezed(finding.message) in text
        assert squeezed(finding.fix) in text
    assert text.count("word") >= 1500


def test_pages_are_numbered_and_named_in_the_outline() -> None:
    reader = PdfReader(io.BytesIO(typical()))
    count = len(reader.pages)
    for i, page in enumerate(reader.pages, 1):
        assert f"{i} / {count}" in page.extract_text()
    titles = [str(item["/Title"]) for item in reader.outline if not isinstance(item, list)]
    assert titles == ["Cover", "Sign-off"] or titles[0] == "Cover"


def test_a_label_is_at_true_size_on_a4_and_a_jacket_on_a3() -> None:
    sizes = [
        tuple(round(float(side) * MM) for side in page.mediabox[2:])
        for page in PdfReader(io.BytesIO(typical())).pages
    ]
    assert set(sizes) == {(210, 297), (420, 297)}
    assert sizes[1] == (210, 297)


def test_a_part_of_unknown_kind_is_shown_without_lines() -> None:
    part = label_part(made_up.finding("stop", "not recognised", "say what it is"))
    data = proof_of(replace(part, spec=None))
    assert squeezed("not recognised") in text_of(data)


def test_a_part_with_two_pages_lists_each_finding_once_with_its_page() -> None:
    findings = (
        made_up.finding("stop", "only on the outside", "b", made_up.box(0, 0, 9, 9), page=1),
        made_up.finding("query", "only on the inside", "b", made_up.box(5, 5, 9, 9), page=2),
        made_up.finding("note", "about the file", "b", page=None),
        made_up.finding("stop", "on a page too many", "b", page=3),
    )
    part = made_up.part_of("gatefold", "gatefold-12in", made_up.jacket_image(), 645, findings)
    inside = replace(part.pages[0], number=2, page_index=1, insets=())
    outside = replace(part.pages[0], insets=())
    text = text_of(proof_of(replace(part, pages=(outside, inside))))
    assert [text.count(squeezed(finding.message)) for finding in findings] == [1, 1, 1, 1]


# Writing: whole or not at all.


def test_the_folder_is_made_and_nothing_else_is_left_in_it(tmp_path: Path) -> None:
    parts = (made_up.unread_part(),)
    path = tmp_path / "new" / "proof.pdf"
    write_proof(path, made_up.result_of(parts), parts, made_on=made_up.MADE_ON)
    assert path.read_bytes().startswith(b"%PDF-")
    assert path.read_bytes().rstrip().endswith(b"%%EOF")
    assert [each.name for each in path.parent.iterdir()] == ["proof.pdf"]


@pytest.mark.parametrize("place", ["file/proof.pdf", "folder"])
def test_a_place_that_cannot_be_written_is_an_output_error(tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("in the way")
    (tmp_path / "folder").mkdir()
    parts = (made_up.unread_part(),)
    with pytest.raises(OutputError, match="cannot be written") as caught:
        write_proof(tmp_path / place, made_up.result_of(parts), parts, made_on=made_up.MADE_ON)
    assert str(tmp_path / place) in str(caught.value)
    assert len(caught.value.lines) == 1
    assert sorted(each.name for each in tmp_path.iterdir()) == ["file", "folder"]


@pytest.mark.parametrize("step", ["write_bytes", "replace", "link"])
def test_a_failure_half_way_leaves_the_earlier_proof_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    path = tmp_path / "proof.pdf"
    path.write_bytes(b"the earlier proof")
    parts = (made_up.unread_part(),)

    def fail(self: Path, argument: object) -> None:
        with self.open("wb") as file:
            file.write(b"%PDF-1.4 half")
        raise OSError(28, "No space left on device")

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    if step == "link":  # where files may be without a name until they are whole
        monkeypatch.setattr(os, "link", full)
    else:
        monkeypatch.setattr(Path, step, fail)
    if step == "write_bytes":  # where they may not
        monkeypatch.delattr(os, "O_TMPFILE", raising=False)
    with pytest.raises(OutputError, match="No space left"):
        write_proof(path, made_up.result_of(parts), parts, made_on=made_up.MADE_ON)
    assert path.read_bytes() == b"the earlier proof"
    assert [each.name for each in tmp_path.iterdir()] == ["proof.pdf"]
