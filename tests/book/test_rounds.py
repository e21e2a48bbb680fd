"""An order's life in the book: what comes, what is found, what is decided."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from prepcheck.book.book import Book
from prepcheck.book.deliveries import TakenAs
from prepcheck.book.matching import left_over
from prepcheck.book.records import Decide, FileLine, Role, Waiting
from prepcheck.book.rounds import Ways, carry_on, receive
from prepcheck.book.stored import from_json
from prepcheck.cli import cli, with_book
from prepcheck.errors import BookError
from prepcheck.findings import Result
from prepcheck.intake import match as intake
from prepcheck.intake.look import Seen
from tests.book.orders import Scripted, entered, files, unseen

pytestmark = pytest.mark.usefixtures("no_pictures")

FIRST = {
    "label-a.pdf": "bleed.short stop 40\ntype.small query -10",
    "label-b.pdf": "",
    "jacket.pdf": "image.resolution note 3",
}


def _round(book: Book, folder: Path, texts: dict[str, str], ways: Ways | None = None) -> None:
    ways = ways or Ways(look=unseen, examiner=Scripted(), draw=False)
    receive(book, files(folder, texts), "TR-1", "Ada Fenn", sender="Thornreed")
    carry_on(book, "Ada Fenn", ways)


def test_a_delivery_is_placed_examined_and_told(book: Book, tmp_path: Path) -> None:
    entered(book)
    assert book.orders()[0].waiting_why == "nothing received yet"
    _round(book, tmp_path / "one", FIRST)
    story = book.story("TR-1")
    line = story.line
    assert (line.parts, line.received, line.clear, line.open, line.round) == (3, 3, 2, 2, 1)
    assert line.waiting_for is Waiting.US
    assert [(f.number, f.part, f.check, f.open) for f in story.findings] == [
        (1, "Label A", "bleed.short", True),
        (2, "Label A", "type.small", True),
        (3, "Jacket", "image.resolution", False),
    ]
    assert [file.parts for file in story.deliveries[0].files] == [
        ("Label A",), ("Label B",), ("Jacket",),
    ]  # fmt: skip
    assert not book.verify().faults


def test_findings_keep_their_number_through_rounds(book: Book, tmp_path: Path) -> None:
    entered(book)
    _round(book, tmp_path / "one", FIRST)
    second = {"label-a.pdf": "type.small query -9.5\nhole.clearance stop 0"}
    _round(book, tmp_path / "two", second)
    told = {f.number: (f.check, f.there, f.cured_round) for f in book.story("TR-1").findings}
    assert told == {
        1: ("bleed.short", False, 2),
        2: ("type.small", True, None),
        3: ("image.resolution", True, None),
        4: ("hole.clearance", True, None),
    }
    _round(book, tmp_path / "three", {"label-a.pdf": "bleed.short stop 40.5"})
    told = {f.number: (f.check, f.there, f.cured_round) for f in book.story("TR-1").findings}
    assert told[1] == ("bleed.short", True, None)
    assert told[2] == ("type.small", False, 3)
    assert len(told) == 4


def test_what_was_not_sent_again_is_still_open(book: Book, tmp_path: Path) -> None:
    entered(book)
    _round(book, tmp_path / "one", FIRST)
    _round(book, tmp_path / "two", {"jacket.pdf": ""})
    still = [f.check for f in book.story("TR-1").open]
    assert still == ["bleed.short", "type.small"]


def test_a_stop_is_accepted_only_by_whom_it_is_up_to(book: Book, tmp_path: Path) -> None:
    entered(book)
    book.add_person("Ada Fenn", Role.INTAKE, "Ada Fenn")
    book.add_person("Bo Marsh", Role.APPROVER, "Ada Fenn")
    _round(book, tmp_path / "one", FIRST)
    with pytest.raises(BookError, match="which Ada Fenn \\(intake\\) may not accept"):
        book.decide("TR-1", [1, 2], Decide.ACCEPT, "as last time", "Ada Fenn")
    assert book.story("TR-1").decisions == ()
    with pytest.raises(BookError, match="needs a reason"):
        book.decide("TR-1", [1], Decide.ACCEPT, "  ", "Bo Marsh")
    with pytest.raises(BookError, match="'Bo Marsh'"):
        book.decide("TR-1", [1], Decide.ACCEPT, "as last time", "Bo March")
    book.decide("TR-1", [1], Decide.ACCEPT, "the white edge is wanted", "Bo Marsh")
    story = book.story("TR-1")
    assert [f.number for f in story.open] == [2]
    assert story.findings[0].decision is not None
    assert story.findings[0].decision.why == "the white edge is wanted"


def test_a_decision_holds_for_what_it_was_made_on(book: Book, tmp_path: Path) -> None:
    entered(book)
    book.add_person("Bo Marsh", Role.APPROVER, "Bo Marsh")
    _round(book, tmp_path / "one", FIRST)
    book.decide("TR-1", [1, 2], Decide.ACCEPT, "wanted", "Bo Marsh")
    assert book.story("TR-1").line.open == 0
    same = {"label-a.pdf": "bleed.short stop 41\ntype.small query -10 now even smaller"}
    _round(book, tmp_path / "two", same)
    story = book.story("TR-1")
    assert [f.number for f in story.open] == [2], "a finding that grew is open again"
    assert [d.in_force for d in story.decisions] == [True, False]


def test_a_decision_on_a_stale_view_is_refused(book: Book, tmp_path: Path) -> None:
    entered(book)
    book.add_person("Bo Marsh", Role.APPROVER, "Bo Marsh")
    _round(book, tmp_path / "one", FIRST)
    seen = book.stands("TR-1")
    _round(book, tmp_path / "two", {"label-a.pdf": "bleed.short stop 40 by twice as much"})
    with pytest.raises(BookError, match="changed meanwhile: by twice as much"):
        book.decide("TR-1", [1], Decide.ACCEPT, "fine", "Bo Marsh", stands=[seen[1]])


def test_what_came_before_brings_nothing_new(book: Book, tmp_path: Path) -> None:
    entered(book)
    _round(book, tmp_path / "one", FIRST)
    looked = Scripted()
    before = book.story("TR-1")
    _round(book, tmp_path / "again", FIRST, Ways(look=unseen, examiner=looked, draw=False))
    assert looked.seen == []
    assert book.story("TR-1") == before


def test_a_file_nobody_can_place_is_asked_about(book: Book, tmp_path: Path) -> None:
    entered(book)
    _round(book, tmp_path / "one", FIRST)
    _round(book, tmp_path / "two", {"final_NEW.pdf": "hole.drawn query 0"})
    story = book.story("TR-1")
    file = story.deliveries[1].files[0]
    assert file.asked
    assert "--place 'final_NEW.pdf=PART'" in file.note
    assert story.line.waiting_why == "1 file to be placed"
    book.place(2, [TakenAs(file.id, "Label B", "said by hand")], [], "Ada Fenn", by_hand=True)
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    story = book.story("TR-1")
    assert [(f.check, f.part) for f in story.open][-1] == ("hole.drawn", "Label B")
    assert [(e.round, e.turn) for e in story.examinations] == [(1, 1), (2, 1), (2, 2)]


def test_unplaced_deliveries_are_put_aside_and_given_later(book: Book, tmp_path: Path) -> None:
    entered(book)
    number, new = receive(book, files(tmp_path / "x", {"label-b.pdf": ""}), None, "Ada Fenn")
    assert new
    assert [d.id for d in book.aside()] == [number]
    again, new = receive(book, files(tmp_path / "y", {"label-b.pdf": ""}), None, "Ada Fenn")
    assert (again, new) == (number, False)
    book.give(number, "TR-1", "Ada Fenn")
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    assert book.aside() == ()
    assert book.story("TR-1").line.received == 1
    assert not book.verify().faults


def test_an_order_that_cannot_be_examined_says_why_and_is_tried_again(
    book: Book, tmp_path: Path
) -> None:
    entered(book)

    def refuses(batch: object) -> object:
        raise BookError("which piece this is cannot be told")

    _round(book, tmp_path / "one", FIRST, Ways(look=unseen, examiner=refuses, draw=False))  # type: ignore[arg-type]
    line = book.orders()[0]
    assert line.waiting_why == ("round 1 could not be examined: which piece this is cannot be told")
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    assert book.orders()[0].open == 2


def test_parts_that_have_not_come_are_frames_in_the_proof_and_no_findings(
    book: Book, tmp_path: Path
) -> None:
    """With the real examiner, on files that cannot be read."""
    entered(book)
    receive(book, files(tmp_path / "one", {"label-a.pdf": "no PDF"}), "TR-1", "Ada Fenn")
    carry_on(book, "Ada Fenn", Ways(look=unseen, draw=False))
    story = book.story("TR-1")
    assert story.missing == ("Label B", "Jacket")
    assert {f.part for f in story.findings} <= {"Label A", None}
    assert "file.unreadable" in [f.check for f in story.open]
    assert story.examinations[0].verdict == "stop"


def test_of_a_file_whose_pages_are_parts_every_other_page_is_told() -> None:
    seen = Seen("7/labels.pdf", Path("labels.pdf"))
    file = FileLine(7, "labels.pdf", "", 1, (), "", False)
    taken = (intake.Match("Label A", seen, 2, ("it says side A",)),)
    found = intake.Matched(taken, loose=((seen, 1), (seen, 3)))
    left = left_over(("7/labels.pdf", file), found, "TR-1")
    assert (left.file, left.asked) == (7, True)
    assert left.why == (
        "pages 1 and 3 fit no part; say which with --place 'labels.pdf#1=PART', or that no other "
        "page is one with --place 'labels.pdf#2=Label A'"
    )
    asks = (
        intake.UndecidedFile(seen, 3, ("Label B",)),
        intake.UndecidedFile(seen, 4, ("Label B",)),
    )
    both = left_over(("7/labels.pdf", file), intake.Matched(taken, asks, ((seen, 1),)), "TR-1").why
    assert all(f"page {number} " in both for number in (1, 3, 4)), both


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_pages_of_one_file_are_placed_by_hand_at_once(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    entered(book)
    _round(book, tmp_path / "one", {"final_NEW.pdf": ""})
    scripted = Ways(look=unseen, examiner=Scripted(), draw=False)
    monkeypatch.setattr(with_book, "ways", lambda *_, **__: scripted)
    words = ["final_NEW.pdf#1=Label A", "final_NEW.pdf#2=Label B", "--book", str(book.folder)]
    done = CliRunner().invoke(cli, ["book", "place", "TR-1", *words])
    assert done.exit_code == 3, done.output  # the jacket has not come
    (file,) = book.story("TR-1").deliveries[0].files
    assert file.parts == ("Label A (page 1)", "Label B (page 2)")
    assert not file.asked
    # A later round has come since: what an earlier one left open can still be settled.
    _round(book, tmp_path / "two", {"holiday.pdf": "\n"}, scripted)
    _round(book, tmp_path / "three", {"label-a.pdf": "", "label-b.pdf": ""}, scripted)
    assert "1 file to be placed" in book.story("TR-1").line.waiting_why
    words = ["book", "place", "TR-1", "--book", str(book.folder), "--json"]
    done = CliRunner().invoke(cli, [*words, "holiday.pdf="])
    assert json.loads(done.stdout)["story"]["line"]["waiting_why"].startswith("1 part missing")
    done = CliRunner().invoke(cli, [*words, "vacation.pdf="])
    assert "no such file came for this order" in done.stderr


def test_a_finding_has_one_number_in_every_round(book: Book, tmp_path: Path) -> None:
    """In the result that letter and proof are made of, and where it is decided on."""
    entered(book)
    ways = Ways(look=unseen, examiner=Scripted(), draw=False)

    def round_of(number: int, texts: dict[str, str]) -> tuple[dict[str, int], dict[str, int]]:
        receive(book, files(tmp_path / str(number), texts), "TR-1", "Ada Fenn")
        carry_on(book, "Ada Fenn", ways)
        story = book.story("TR-1")
        result = from_json(Result, book.store.read(story.examinations[-1].result).decode())
        told = {f.check: f.number for f in result.every if f.check != "order.missing-part"}
        return told, {f.check: f.number for f in story.findings if f.there}

    told, known = round_of(1, {"label-a.pdf": "a.b note 1 One.\nc.d stop 9 Two."})
    assert told == known == {"c.d": 1, "a.b": 2}
    told, known = round_of(2, {"label-b.pdf": "e.f stop 1 Three.", "jacket.pdf": ""})
    assert told == known
    assert known["e.f"] > 2
    told, known = round_of(3, {"label-a.pdf": "g.h stop 20 Four.\na.b note 1 One."})
    assert told == known
    assert known["a.b"] == 2
    assert known["g.h"] > known["e.f"]
