"""What a desk asks with each page, of both databases."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from prepcheck.book.access import Access
from prepcheck.book.book import Book
from prepcheck.book.overview import Overview
from prepcheck.book.records import Decide, Role, Waiting
from prepcheck.book.rounds import Ways, carry_on, receive
from tests.book.orders import Scripted, entered, files, unseen


def test_a_board_its_parts_and_who_looks_at_them(book: Book, tmp_path: Path) -> None:
    for number in ("TR-1", "TR-2", "TR-3"):
        entered(book, number)
    came = files(
        tmp_path / "came", {"label-a.pdf": "bleed.short stop 1", "label-b.pdf": "a query 2"}
    )
    receive(book, came, "TR-2", "Ada Fenn")
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    overview = Overview(book)
    every = {"waiting_for": None, "due_by": None}
    lines, tally, aside = overview.page(**every, like=None, first=0, most=2)
    assert [line.number for line in lines] == ["TR-1", "TR-2"]
    assert tally == {Waiting.US: 1, Waiting.CLIENT: 2, Waiting.PLANT: 0}
    assert aside == 0
    later, _, _ = overview.page(**every, like=None, first=2, most=2)
    assert [line.number for line in later] == ["TR-3"]
    found, counted, _ = overview.page(
        waiting_for=Waiting.CLIENT, due_by=None, like="tr-", first=1, most=5
    )
    assert [line.number for line in found] == ["TR-3"]
    assert counted == tally
    assert overview.page(**every, like="no such", first=0, most=5)[0] == ()

    def states(number: str) -> list[str]:
        return [piece.state for piece in overview.pieces(["TR-1", number])[number]]

    assert states("TR-2") == ["stop", "query", "missing"]
    assert states("TR-3") == ["missing"] * 3
    Access(book).set_password("Ada Fenn", Role.ADMIN, "none does", "test")
    number = next(f.number for f in book.story("TR-2").open if f.severity == "query")
    book.decide("TR-2", [number], Decide.ACCEPT, "it is meant so", "Ada Fenn")
    assert states("TR-2") == ["stop", "clear", "missing"]
    assert overview.pieces([]) == {}

    failed = files(tmp_path / "later", {"label-b.pdf": "text.small crashed"})
    receive(book, failed, "TR-2", "Ada Fenn")
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    assert states("TR-2") == ["stop", "query", "missing"], "what was not judged whole is not clear"
    assert {line.number: line.clear for line in book.orders()}["TR-2"] == 0
    whole = files(tmp_path / "again", {"label-b.pdf": ""})
    receive(book, whole, "TR-2", "Ada Fenn")
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    assert states("TR-2") == ["stop", "clear", "missing"]
    assert {line.number: line.clear for line in book.orders()}["TR-2"] == 1

    token = Access(book).log_in("Ada Fenn", timedelta(hours=1))
    visit = Access(book).visit(token)
    assert visit is not None
    assert (visit.person.name, visit.person.role) == ("Ada Fenn", Role.ADMIN)
    Access(book).log_out(visit)
    assert Access(book).visit(token) is None
