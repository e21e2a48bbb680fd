"""Messages of workers: they carry every answer unchanged, and nothing that is not asked for."""

from __future__ import annotations

import os
import pickle
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.findings import Finding, Mark, Outcome, PartResult, Severity, Status
from prepcheck.geometry import Box, Grid, Point
from prepcheck.proof.model import Picture, ProofPage, ProofPart, Swatch
from prepcheck.run.answer import Answer, Task
from prepcheck.run.message import Failed, MessageError, packed, unpacked
from prepcheck.run.pair import PairAnswer
from prepcheck.run.part import examine_part
from prepcheck.run.platemaking import PlatesAnswer
from prepcheck.sheets.digest import Digest, LiveWords, Look, PageDigest
from prepcheck.spec.load import load_spec
from tests.run.art import QUICK, label_pdf


class Ink(StrEnum):
    RUST = "rust"


@dataclass(frozen=True)
class Odd:
    ink: Ink
    box: Box
    data: bytes
    value: int | float | str | tuple[str, ...] | None = None


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
numbers = st.floats(allow_nan=False) | st.integers(-(2**63), 2**64 - 1)


@given(
    st.builds(
        Odd, st.just(Ink.RUST), st.builds(Box, *[st.floats(allow_nan=False)] * 4), st.binary(),
        numbers | texts | st.none() | st.lists(texts).map(tuple),
    )
)  # fmt: skip
def test_enums_places_bytes_and_unions_come_back_as_they_were(odd: Odd) -> None:
    back = unpacked(packed(odd), Odd)
    assert back == odd
    assert isinstance(back, Odd)
    assert isinstance(back.ink, Ink)
    assert isinstance(back.box, Box)
    assert type(back.value) is type(odd.value)


def full_answer() -> Answer:
    box, grid = Box(-1.0, -2.5, 3.0, 4.0), Grid(2, 3, 0.5, -1.0, 4.0)
    mark = Mark(box, "here", (Point(0.0, 1.0), Point(2.0, 3.0)), 2.5, -1.0)
    finding = Finding(
        "bleed.short", Severity.STOP, "m", "f", "s", 1, 2, 3.0, "mm", (mark,), "c", "s", "l"
    )
    result = PartResult(
        "A", "a.pdf", "00", 7, "label-7in", "size", 1, (82.5, 82.5), "TrimBox",
        (Outcome("bleed.short", Status.STOP, "why", "words", None, "mm"),), (finding,),
        {"a_mm": 1.5, "b": None, "c": ("x", "y"), "d": "z", "e": 3}, "A",
    )  # fmt: skip
    page = ProofPage(1, 0, Picture(b"\xff\xd8", grid))
    digest = Digest(
        (PageDigest(1, (LiveWords("t", "", box),), 2, 0.5, Look(grid, b"r", b"i")),), 7.3
    )
    return Answer(ProofPart(result, None, (page,)), digest, ("u",), ("o",))


def test_an_answer_comes_back_equal_to_the_last_field() -> None:
    answer = full_answer()
    assert unpacked(packed(answer), Answer) == answer


def test_the_answer_about_a_real_part_comes_back(tmp_path: Path) -> None:
    spec = load_spec("label-12in")
    path = label_pdf(tmp_path / "a.pdf")
    task = Task("A", "a.pdf", path, (spec,), "named", with_pictures=True, settings=QUICK)
    answer = examine_part(task)
    assert unpacked(packed(answer), Answer) == answer


def test_a_spec_is_not_taken_from_a_worker() -> None:
    answer = {"proof": {**vars_of(full_answer().proof), "spec": {"name": "x"}}}
    with pytest.raises(MessageError):
        unpacked(packed(answer), Answer)


def vars_of(proof: ProofPart | None) -> dict[str, object]:
    assert proof is not None
    return {"result": proof.result, "pages": proof.pages}


class Trap:
    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.abort, ()  # type: ignore[return-value]


@pytest.mark.parametrize("kind", [Answer, PairAnswer, PlatesAnswer, int])
@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"A",
        b"F",
        b"Fx",
        b"?" + packed(1)[1:],
        packed("text"),
        packed([1, 2]),
        packed(full_answer())[:-9],
        pickle.dumps(Trap()),
        b"A" + b"\x91" * 100_000,
        b"A\xdd\xff\xff\xff\xff",
    ],
)
def test_what_is_no_such_message_is_refused(data: bytes, kind: type) -> None:
    with pytest.raises(MessageError):
        unpacked(data, kind)


def test_a_severity_that_is_none_is_refused() -> None:
    data = packed(full_answer())
    assert data.count(b"\xa4stop") == 2
    with pytest.raises(MessageError, match="severity"):
        unpacked(data.replace(b"severity\xa4stop", b"severity\xa4stup"), Answer)


@pytest.mark.parametrize(
    ("value", "plain"),
    [(np.float64(2.5), 2.5), (np.int64(3), 3), (np.float32(0.5), 0.5), (2**70, 2.0**70)],
)
def test_numbers_of_libraries_become_plain_ones(value: object, plain: float) -> None:
    back = unpacked(packed(Odd(Ink.RUST, Box(0, 0, 1, 1), b"", value)), Odd)  # type: ignore[arg-type]
    assert isinstance(back, Odd)
    assert back.value == plain
    assert type(back.value) is type(plain)


def test_halves_of_characters_are_replaced() -> None:
    swatch = Swatch("half \ud83d of a sign", "#000000")
    back = unpacked(packed(swatch), Swatch)
    assert back == Swatch("half ? of a sign", "#000000")


def test_what_cannot_be_carried_is_said() -> None:
    with pytest.raises(TypeError, match="function is not carried"):
        packed(lambda: None)


def test_failures_are_told_from_answers() -> None:
    assert unpacked(packed(Failed("why", ours=True)), Answer) == Failed("why", ours=True)
