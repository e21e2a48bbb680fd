"""What the desk and its processes say to each other comes through as it was, and nothing else."""

from __future__ import annotations

import os
import pickle
from multiprocessing import Pipe
from pathlib import Path

import pytest

from prepcheck.book.delivering import Taken
from prepcheck.book.overview import ExaminedAs
from prepcheck.book.rounds import Gone
from prepcheck.desk.background import Done, TakenIn, WantedPictures
from prepcheck.desk.messages import received, send
from prepcheck.desk.taking import Given
from prepcheck.intake.unpack import Delivered

WANTED = WantedPictures(ExaminedAs("ab12", 2, "label-12in", None), tiles=True)


@pytest.mark.parametrize(
    "said",
    [
        "look",
        WANTED,
        Done("it failed", (WANTED, WantedPictures(ExaminedAs("cd34", None, None, "ef56")))),
        Given((Delivered("a/ä.pdf", Path(os.fsdecode(b"/in/\xff.zip"))),), None, "Ada", "", "x"),
        TakenIn((Taken(7, True, None, "none", ("a: empty",), (Gone("TR-1", 7, None, ("?",)),)),)),
        TakenIn(fault=("one", "two")),
    ],
)  # fmt: skip
def test_what_is_said_comes_through(said: object) -> None:
    ours, theirs = Pipe()
    send(ours, said)
    assert received(theirs, type(said)) == said


class Trap:
    def __reduce__(self) -> tuple[object, ...]:
        return os._exit, (9,)


@pytest.mark.parametrize(
    "data", [pickle.dumps(Trap()), pickle.dumps(Done("it failed")), b"", b"\xc1", b"\x81\xa1x\x01"]
)
def test_what_is_no_message_is_taken_for_the_end(data: bytes) -> None:
    """A pickle would run what stands in it; a map without the fields owed is none either."""
    ours, theirs = Pipe()
    ours.send_bytes(data)
    with pytest.raises(EOFError):
        received(theirs, Taken)


def test_half_a_character_in_a_name_does_not_end_the_talk() -> None:
    ours, theirs = Pipe()
    send(ours, Done("odd \udcff name"))
    assert received(theirs, Done).fault == "odd ? name"
