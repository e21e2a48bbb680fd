"""PDFs whose list of objects is missing or wrong are read by their objects.

Truth by construction: the damage of `tests.damage.classes.STRUCTURE` leaves every object as it is,
so what is read must be what the sound file holds.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from prepcheck.art.limits import DEFAULT
from prepcheck.art.model import Artwork
from prepcheck.art.open import open_art
from prepcheck.art.pdf.rebuild import scanned
from prepcheck.errors import UnreadableError
from prepcheck.geometry import Affine
from tests.damage.classes import STRUCTURE, huge_box_number, packed_sound
from tests.factories import Pdf, Raw, Stream

ART = Path(__file__).parents[3] / "sample_art"
SOURCES = ("gatefold/label-c.pdf", "single/black-alone.pdf", "single/hidden-layer.pdf")
SEEDS = 3
NO_DAMAGE = ("packed_sound",)


def opened(folder: Path, source: bytes) -> Artwork:
    path = folder / "art.pdf"
    path.write_bytes(source)
    return open_art(path)


def held(art: Artwork) -> list[tuple[object, ...]]:
    """Return what stands on each page."""
    pages = [page.content(Affine.scale(1.0)) for page in art.pages]
    return [
        (
            [text.text for text in page.texts],
            [path.box for path in page.paths],
            [image.samples for image in page.images],
            page.inks,
            page.troubles,
        )
        for page in pages
    ]


@pytest.mark.parametrize("name", STRUCTURE)
def test_structure_is_found_anew(tmp_path: Path, name: str) -> None:
    for source in SOURCES:
        sound = (ART / source).read_bytes()
        expected = held(opened(tmp_path, sound))
        for seed in range(SEEDS):
            damaged = STRUCTURE[name](sound, random.Random(f"{name} {source} {seed}"))
            art = opened(tmp_path, damaged)
            assert held(art) == expected, (source, seed)
            assert art.troubles == ()


@pytest.mark.parametrize(
    "name", ["cut_before_table", "no_trailer", "wrong_offsets", "line_ends_changed", "packed_cut"]
)
def test_mending_is_said(tmp_path: Path, name: str) -> None:
    sound = (ART / SOURCES[0]).read_bytes()
    assert opened(tmp_path, sound).document.troubles == ()
    art = opened(tmp_path, STRUCTURE[name](sound, random.Random(1)))
    (told,) = art.document.troubles
    assert re.fullmatch(
        r"the list of the PDF's objects \(cross-reference\) [a-z ]+; "
        r"it was made anew from the \d+ objects found",
        told,
    )


def test_sound_object_streams_are_no_damage(tmp_path: Path) -> None:
    sound = packed_sound((ART / SOURCES[0]).read_bytes(), random.Random(1))
    assert opened(tmp_path, sound).document.troubles == ()


def test_later_object_counts(tmp_path: Path) -> None:
    """Of objects of one number the last is the newest (ISO 32000-2, 7.5.6)."""
    pdf = Pdf()
    pdf.page("1 1 8 8 re f", (20, 20))
    source = pdf.bytes()
    number = re.search(rb"(\d+) 0 obj\n<</Length", source)
    assert number is not None
    added = b"%s 0 obj\n<</Length 25>>\nstream\n0 0 1 rg 5 5 10 10 re f Q\nendstream\nendobj\n"
    (page,) = opened(tmp_path, source[: source.rindex(b"startxref")] + added % number[1]).pages
    (path,) = page.content(Affine.scale(1.0)).paths
    assert path.box.width == pytest.approx(10 / 72 * 25.4)


def test_objects_inside_streams_are_none(tmp_path: Path) -> None:
    """An attached PDF's objects are not the file's own, whatever their numbers."""
    pdf = Pdf()
    pdf.page("1 1 8 8 re f", (20, 20))
    other = Pdf()
    other.page("", (900, 900))
    pdf.add(Stream(other.bytes(), {"Type": "EmbeddedFile"}))
    source = pdf.bytes()
    (page,) = opened(tmp_path, source[: source.rindex(b"xref", 0, -30)]).pages
    assert page.boxes.media.width == pytest.approx(20)
    assert set(scanned(source, DEFAULT).objects) == {1, 2, 3, 4, 5}


def test_length_elsewhere(tmp_path: Path) -> None:
    """A stream's length may be an object of its own, before or behind it."""
    for behind in (False, True):
        pdf = Pdf()
        length = None if behind else pdf.add(Raw("30"))
        pdf.page("", (20, 20))
        source = pdf.bytes().replace(b"<</Length 44>>", b"<</Length 9 0 R>>")
        where = 9 if length is None else int(length)
        source = source.replace(b"/Length 9 0 R", b"/Length %d 0 R" % where)
        assert len(opened(tmp_path, source[: source.rindex(b"trailer")]).pages) == 1


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    """Where a part of the file is gone, that is no mere mending."""
    pdf = Pdf()
    form = pdf.add(Stream(b"0 0 5 5 re f", {"Subtype": "Form", "BBox": [0, 0, 9, 9]}))
    pdf.page("/F Do 1 1 8 8 re f", (20, 20), resources={"XObject": {"F": form}})
    source = pdf.bytes()
    start = source.index(b"%d 0 obj" % form)
    gone = source[:start] + source[source.index(b"endobj", start) + 7 :]
    art = opened(tmp_path, gone)
    assert art.troubles == (f"objects that the PDF needs are not in it (number {int(form)})",)


def test_nothing_left(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match=r"^art.pdf: the PDF is damaged \("):
        opened(tmp_path, b"%PDF-1.4\n" + b"1 0 obj <</Type /Font>> endobj\n" * 40)


@pytest.mark.parametrize("seed", range(8))
def test_a_number_of_hundreds_of_digits(tmp_path: Path, seed: int) -> None:
    sound = (ART / SOURCES[0]).read_bytes()
    art = opened(tmp_path, huge_box_number(sound, random.Random(seed)))
    assert held(art) == held(opened(tmp_path, sound))
    told = " ".join(opened(tmp_path, huge_box_number(sound, random.Random(seed))).document.troubles)
    assert "a number of more than 40 digits was read as a very large one" in told
    assert "Box is no rectangle and is not used" in told


def locked(*, attachments_only: bool) -> bytes:
    """Return a PDF whose user password is not known; its filters guard all or only attachments."""
    pdf = Pdf("1.6")
    pdf.page("1 1 8 8 re f", (20, 20))
    guard = "Identity" if attachments_only else "StdCF"
    event = "EFOpen" if attachments_only else "DocOpen"
    rng = random.Random(5)
    pdf.trailer["ID"] = [rng.randbytes(16), rng.randbytes(16)]
    pdf.trailer["Encrypt"] = pdf.add(
        {
            "Filter": "Standard", "V": 4, "R": 4, "Length": 128, "P": -4,
            "O": rng.randbytes(32), "U": rng.randbytes(32),
            "CF": {"StdCF": {"CFM": "AESV2", "AuthEvent": event, "Length": 16}},
            "StmF": guard, "StrF": guard, "EFF": "StdCF",
        }
    )  # fmt: skip
    return pdf.bytes()


def test_a_password_that_guards_attachments_only(tmp_path: Path) -> None:
    """Crypt filters of strings and streams are Identity (ISO 32000-2, 7.6.6, Table 27)."""
    art = opened(tmp_path, locked(attachments_only=True))
    assert art.document.encrypted
    (page,) = art.pages
    assert len(page.content(Affine.scale(1.0)).paths) == 1
    with pytest.raises(Exception, match="password"):
        opened(tmp_path, locked(attachments_only=False))


def test_a_circle_is_not_told_as_lack_of_memory(tmp_path: Path) -> None:
    source = (
        b"%PDF-1.4\n1 0 obj <</Type /Catalog /Pages 2 0 R>> endobj\n"
        b"2 0 obj <</Length 2 0 R>>\nstream\nabc\nendstream endobj\n"
        b"trailer <</Root 1 0 R /Size 3>>\nstartxref\n9\n%%EOF"
    )
    with pytest.raises(UnreadableError) as caught:
        opened(tmp_path, source)
    assert "memory" not in str(caught.value)


def test_a_table_longer_than_its_file_is_made_anew(tmp_path: Path) -> None:
    pdf = Pdf()
    pdf.page("1 1 8 8 re f", (20, 20))
    source = pdf.bytes().replace(b"xref\n0 5\n", b"xref\n0 99995\n")
    assert len(opened(tmp_path, source).pages) == 1
