"""What is read without the libraries that writing takes is what the book says."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from prepcheck.book.book import Book
from prepcheck.book.glance import DATABASE, KEY, glanced
from prepcheck.book.records import Decide, Role, Waiting
from prepcheck.book.rounds import Ways, carry_on, receive
from tests.book.orders import Scripted, entered, files, unseen

pytestmark = pytest.mark.usefixtures("no_pictures")


@pytest.fixture
def filled(book: Book, tmp_path: Path) -> Book:
    entered(book)
    entered(book, "TR-2")
    book.add_person("Bo Marsh", Role.APPROVER, "Bo Marsh")
    first = {"label-a.pdf": "bleed.short stop 40", "label-b.pdf": "", "jacket.pdf": "\n"}
    receive(book, files(tmp_path / "in", first), "TR-1", "Ada Fenn")
    receive(book, files(tmp_path / "other", {"note.pdf": ""}), None, "Ada Fenn")
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    book.decide("TR-1", [1], Decide.ACCEPT, "wanted so", "Bo Marsh")
    book.ask("TR-1", "Which side?", "Bo Marsh")
    book.letter("TR-1", b"Dear all", "Ada Fenn")
    return book


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_a_glance_sees_what_the_book_says(filled: Book) -> None:
    with glanced(filled.folder) as glance:
        assert glance is not None
        assert glance.orders() == filled.orders()
        assert len(glance.orders()) == 2
        assert glance.story("TR-1") == filled.story("TR-1")
        assert glance.story("TR-1").decisions[0].why == "wanted so"
        assert glance.aside() == filled.aside()
        assert len(glance.aside()) == 1
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            glance.rows("DELETE FROM letter", ())


def test_the_board_is_asked_for_as_it_is_wanted(filled: Book) -> None:
    """On both databases; the numbers by hand."""

    def found(**which: object) -> list[str]:
        return [line.number for line in filled.orders(**which)]  # type: ignore[arg-type]

    both = ["TR-1", "TR-2"]
    assert found() == both
    assert found(first=1) == ["TR-2"]
    assert found(most=1) == ["TR-1"]
    assert found(like="tr-2") == ["TR-2"]
    assert found(like="tr%2") == []
    assert found(like="TR_2") == []
    assert found(due_by=date(2000, 1, 1)) == []
    sides = {line.number: line.waiting_for for line in filled.orders()}
    for waiting in Waiting:
        assert found(waiting_for=waiting) == [n for n in both if sides[n] is waiting]


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_what_is_no_book_of_this_kind_is_left_to_the_book_itself(book: Book) -> None:
    folder = book.folder
    book.close()

    def seen(place: Path) -> bool:
        with glanced(place) as glance:
            return glance is not None

    assert seen(folder)
    assert not seen(folder / "none")
    key = (folder / KEY).read_text()
    (folder / KEY).write_text("another\n")
    assert not seen(folder)
    (folder / KEY).write_text(key)
    for stamp in ("0001", "9999"):
        with sqlite3.connect(folder / DATABASE) as connection:
            connection.execute("UPDATE alembic_version SET version_num = ?", (stamp,))
        connection.close()
        assert not seen(folder)
    (folder / DATABASE).unlink()
    assert not seen(folder)
    assert not (folder / DATABASE).exists(), "looking makes nothing"
    (folder / DATABASE).write_bytes(b"no database" * 100)
    assert not seen(folder)


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_the_board_takes_no_library_for_writing(filled: Book) -> None:
    """They are most of what a board would take."""
    script = (
        "import sys; from prepcheck.cli import cli\n"
        "try: cli(sys.argv[1:])\n"
        "except SystemExit: pass\n"
        "print(sorted({'sqlalchemy', 'alembic', 'numpy', 'pypdf'} & set(sys.modules)))"
    )
    for words in (["orders"], ["show", "TR-1"]):
        done = subprocess.run(
            [sys.executable, "-c", script, *words, "--book", str(filled.folder)],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        assert "TR-1" in done.stdout
        assert done.stdout.endswith("\n[]\n")
