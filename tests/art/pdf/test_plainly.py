"""Objects read by our own means: what the PDF library makes of the same bytes is the measure."""

from __future__ import annotations

import io
import logging
import random
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject, StreamObject, read_object

from prepcheck.art.pdf.lending import as_stream
from prepcheck.art.pdf.plainly import DEEPEST, PlainObjects
from prepcheck.art.pdf.reader import Reader
from tests.bench.streamed import streamed
from tests.bench.table import ART
from tests.factories import Pdf, Raw, Ref, Stream

PIECES = (
    b"<<",
    b">>",
    b"[",
    b"]",
    b" ",
    b"\n",
    b"\r",
    b"\t",
    b"\0",
    b"\f",
    b"/A",
    b"/B.c",
    b"/D#20e",
    b"/",
    b"1",
    b"-2",
    b".5",
    b"3.",
    b"1.5.5",
    b"1-2",
    b"+7",
    b"12 0 R",
    b"3  0 R",
    b"4 0 Rx",
    b"5 0\nR",
    b"true",
    b"false",
    b"null",
    b"nullx",
    b"(text)",
    b"(a\\)b)",
    b"((in))",
    b"()",
    b"<41>",
    b"<4",
    b"% said\n",
    b"12345678901234567890",
    b"1_0",
    b"x",
    b"--1",
    b"6 0 R/",
    b"endobj",
    b"/\xe9",
)


@pytest.fixture(scope="module")
def reader() -> PdfReader:
    pdf = Pdf()
    pdf.page("", (10, 10))
    return PdfReader(io.BytesIO(pdf.bytes()))


def bare(value: object) -> object:
    """Return an object of the library with its types, to be compared."""
    if isinstance(value, IndirectObject):
        return "R", value.idnum, value.generation
    if isinstance(value, StreamObject):
        return type(value).__name__, bare(DictionaryObject(dict.items(value))), bytes(value._data)
    if isinstance(value, dict):
        return type(value).__name__, [(bare(k), bare(v)) for k, v in dict.items(value)]
    if isinstance(value, list):
        return type(value).__name__, [bare(one) for one in list.__iter__(value)]
    return type(value).__name__, getattr(value, "value", None), repr(value)


@given(st.lists(st.sampled_from(PIECES), max_size=14).map(b"".join), st.booleans())
def test_what_is_read_is_what_the_library_reads(reader, data, whole):
    data = b"<</K " + data + b">>" if whole else data
    found = PlainObjects(reader).object(data)
    if found is not None:
        with Heard() as heard:
            assert bare(found) == bare(read_object(io.BytesIO(data.lstrip()), reader))
        assert not heard


class Heard(logging.Handler):
    """What the library says it mended."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        # The library says where in memory a reference lies.
        self.heard.append(re.sub(r"\d{10,}", "", record.getMessage()))

    def __enter__(self) -> list[str]:
        logging.getLogger("pypdf").addHandler(self)
        return self.heard

    def __exit__(self, *_: object) -> None:
        logging.getLogger("pypdf").removeHandler(self)


@pytest.mark.parametrize(("data", "plain"), [
    (b"<</Type/Page/Box[0 -.5 1.25 +7]/Of 12 0 R/On true/No null/In (some text)>>", True),
    (b"\n[1 2/A<</B[]>>]\r\n", True),
    (b"<</A 1/A 2>>", False),
    (b"<</A#20b 1>>", False),
    (b"<</A (a\\)b)>>", False),
    (b"<</A 1>> <</A 1>>", False),
    (b"<</A 1", False),
    (b"<</A [1>>]", False),
    (b"<<1 2>>", False),
    (b"<</A 1.5.5>>", False),
    (b"/A", False),
    (b"", False),
    (b"[" * DEEPEST + b"]" * DEEPEST, True),
    (b"[" * (DEEPEST + 1) + b"]" * (DEEPEST + 1), False),
])  # fmt: skip
def test_what_is_plain(reader, data, plain):
    """By hand, after ISO 32000-2, 7.3."""
    assert (PlainObjects(reader).object(data) is not None) is plain


def _all_of(data: bytes, ours: bool) -> dict[tuple[int, int], object]:
    """Return all objects of a file, read in the order of their numbers."""
    made: PdfReader = Reader(as_stream(data)) if ours else PdfReader(io.BytesIO(data))
    if isinstance(made, Reader):
        made.lend(data)
    named = [(n, g) for g, places in made.xref.items() for n in places]
    named += [(n, 0) for n in made.xref_objStm]
    found = {(n, g): bare(IndirectObject(n, g, made).get_object()) for n, g in sorted(set(named))}
    for (generation, number), held in made.resolved_objects.items():
        reference = getattr(held, "indirect_reference", None)
        assert reference is None or (reference.idnum, reference.generation) == (number, generation)
    return found


@pytest.mark.parametrize(
    "path", [*(ART / "single").glob("s*.pdf"), *(ART / "clear").glob("*.pdf")],
    ids=lambda path: path.name,
)  # fmt: skip
def test_files_are_read_as_the_library_reads_them(path: Path) -> None:
    data = path.read_bytes()
    if PdfReader(io.BytesIO(data)).is_encrypted:
        pytest.skip("only what is open to all is read by our own means")
    assert _all_of(data, ours=True) == _all_of(data, ours=False)


def _damaged(data: bytes, seed: int) -> bytes:
    chance, held = random.Random(seed), bytearray(data)
    for _ in range(3):
        held[chance.randrange(len(held))] = chance.randrange(256)
    return bytes(held)


@pytest.mark.parametrize("seed", range(60))
def test_damaged_files_are_read_as_the_library_reads_them(seed: int) -> None:
    """Object streams and plain objects, each damaged in three places; small enough that all of it
    is met."""
    pdf = Pdf("1.7")
    held = pdf.add({"A": [1, 2.5, Ref(1)], "B": b"text", "C": Raw("(plain)")})
    stream = pdf.add(Stream(b"q Q", {"Of": held}))
    pdf.page("0 0 9 9 re f", (10, 10), resources={"XObject": {"F": stream}})
    for whole in (pdf.bytes(), streamed((50, 50), 3, pictures=0, forms=3)):
        data = _damaged(whole, seed)
        assert _tried(data, ours=True) == _tried(data, ours=False)


def _tried(data: bytes, ours: bool) -> object:
    with Heard() as heard:
        try:
            return _all_of(data, ours), sorted(set(heard))
        except Exception as error:  # the library raises nearly anything on damaged files
            return type(error).__name__
