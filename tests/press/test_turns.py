"""PDFium is for one thread at a time, and nobody waits for it who cleans up."""

from __future__ import annotations

import threading
from pathlib import Path

from prepcheck.art.limits import DEFAULT
from prepcheck.art.open import open_art
from prepcheck.art.pdf.guard import reading
from prepcheck.geometry import Affine, Box
from prepcheck.press.pdfium import ONE_AT_A_TIME
from prepcheck.press.separate.plates import separation
from tests.factories import one_page

PATIENCE = 30.0


def test_one_who_reads_drops_a_separation_while_another_paints(tmp_path: Path) -> None:
    """As a look for rubbish may, at any time."""
    path = tmp_path / "a.pdf"
    path.write_bytes(one_page("1 0 0 0 k 0 0 50 50 re f", (50, 50)))
    held = [separation(open_art(path).pages[0])]
    held[0].plates(Affine.scale(1.0), [Box(0, 0, 50, 50)], 72)
    opened = held[0]._opened  # type: ignore[attr-defined]
    document = opened._document
    assert document.raw is not None, "copies stay open for close-ups"
    paints, dropped = threading.Event(), threading.Event()
    in_time: list[bool] = []

    def painting() -> None:
        with ONE_AT_A_TIME:
            paints.set()
            in_time.append(dropped.wait(PATIENCE))
            assert document.raw is not None, "nobody closes it meanwhile"

    thread = threading.Thread(target=painting)
    thread.start()
    assert paints.wait(PATIENCE)
    with reading(path, DEFAULT):  # which who paints might be waiting for
        held.clear()
    dropped.set()
    thread.join()
    assert in_time == [True], "who dropped it waited for who paints"
    assert document.raw is None, "who painted has closed it"


def test_what_nobody_paints_with_is_closed_at_once(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(one_page("1 0 0 0 k 0 0 50 50 re f", (50, 50)))
    held = [separation(open_art(path).pages[0])]
    held[0].plates(Affine.scale(1.0), [Box(0, 0, 50, 50)], 72)
    document = held[0]._opened._document  # type: ignore[attr-defined]
    held.clear()
    assert document.raw is None


def test_what_is_left_while_another_closes_is_not_forgotten() -> None:
    closed: list[int] = []

    def first() -> None:
        thread = threading.Thread(target=ONE_AT_A_TIME.leave, args=(lambda: closed.append(2),))
        thread.start()
        thread.join(PATIENCE)
        assert not thread.is_alive()
        assert closed == [], "another thread closes nothing meanwhile"
        closed.append(1)

    ONE_AT_A_TIME.leave(first)
    assert closed == [1, 2]
