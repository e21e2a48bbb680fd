"""A book put back from a copy made as the README says is the book it was."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from prepcheck.book.book import open_book
from prepcheck.book.rounds import Ways, carry_on, receive
from tests.book import postgres
from tests.book.orders import Scripted, entered, files, unseen

pytestmark = pytest.mark.usefixtures("no_pictures")


def _filled(where: str, folder: Path, inbox: Path) -> object:
    book = open_book(where, files=folder)
    entered(book)
    receive(book, files(inbox, {"label-a.pdf": "a.b stop 1 Short."}), "TR-1", "Ada Fenn")
    carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))
    story = book.story("TR-1")
    book.close()
    return story


def test_a_copy_of_sqlite_made_while_it_is_in_use_is_the_book(tmp_path: Path) -> None:
    folder, copy = tmp_path / "book", tmp_path / "copy"
    story = _filled(str(folder), folder, tmp_path / "in")
    in_use = open_book(folder)
    copy.mkdir()
    source, target = sqlite3.connect(folder / "book.db"), sqlite3.connect(copy / "book.db")
    source.backup(target)
    source.close()
    target.close()
    in_use.close()
    shutil.copytree(folder / "files", copy / "files")
    shutil.copy(folder / "book.key", copy / "book.key")
    back = open_book(copy)
    assert back.story("TR-1") == story
    assert back.verify().faults == ()
    back.close()


def test_a_dump_of_postgresql_put_back_is_the_book(postgres_server: str, tmp_path: Path) -> None:
    programs = postgres.programs()
    assert programs is not None
    folder, copy = tmp_path / "book", tmp_path / "copy"
    names = ("dumped", "restored")
    engine = create_engine(f"{postgres_server}postgres", isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        for name in names:
            connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    story = _filled(f"{postgres_server}dumped", folder, tmp_path / "in")
    plain = postgres_server.replace("postgresql+psycopg", "postgresql")
    dump = subprocess.run(
        [programs / "pg_dump", f"{plain}dumped"], capture_output=True, check=True
    ).stdout
    subprocess.run(
        [programs / "psql", "-q", "-v", "ON_ERROR_STOP=1", f"{plain}restored"], input=dump,
        capture_output=True, check=True,
    )  # fmt: skip
    copy.mkdir()
    shutil.copytree(folder / "files", copy / "files")
    shutil.copy(folder / "book.key", copy / "book.key")
    back = open_book(f"{postgres_server}restored", files=copy)
    assert back.story("TR-1") == story
    assert back.verify().faults == ()
    back.close()


@pytest.mark.parametrize("what", ["book.key", "files"])
def test_what_was_left_out_of_a_copy_is_said(tmp_path: Path, what: str) -> None:
    folder = tmp_path / "book"
    _filled(str(folder), folder, tmp_path / "in")
    if what == "files":
        shutil.rmtree(folder / "files")
    else:
        (folder / "book.key").unlink()
    book = open_book(folder)
    faults = book.verify().faults
    assert bool(faults) is (what == "files")
    book.close()
