"""The commands of the book, each as a script would use it, on labels of the sample orders."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from prepcheck.cli import cli
from tests.book.invented import paper

SAMPLE = Path(__file__).parents[2] / "sample_art"


def _run(book: Path, *words: str) -> Result:
    return CliRunner().invoke(cli, [*words, "--book", str(book)])


def _json(done: Result) -> Any:
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book in which the clear order's labels came as a ZIP with a note beside the art."""
    folder = tmp_path_factory.mktemp("commands")
    head, *parts = (SAMPLE / "clear" / "order.toml").read_text("utf-8").split("[[part]]")
    labels = [part for part in parts if 'name = "Label' in part]
    (folder / "order.toml").write_text("[[part]]".join((head, *labels)), "utf-8")
    with zipfile.ZipFile(folder / "art.zip", "w") as packed:
        for path in sorted((SAMPLE / "clear").glob("label-*")):
            packed.write(path, path.name)
        packed.writestr("note.txt", "See attached")
    where = folder / "book"
    done = _run(
        where, "receive", str(folder / "art.zip"), "--order", str(folder / "order.toml"),
        "--from", "Lanternfold", "--due", "2026-12-04", "--jobs", "2", "--json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    (folder / "received.json").write_text(done.stdout)
    return where


def test_a_clear_order_goes_from_delivery_to_plates(book: Path, tmp_path: Path) -> None:
    came = json.loads((book.parent / "received.json").read_text())["delivery"]
    assert came["files"][0]["name"] == "art.zip"
    assert all(file["parts"] for file in came["files"][1:-1])
    assert came["files"][-1]["name"] == "art.zip/note.txt"
    assert not any(file["asked"] for file in came["files"])
    board = _json(_run(book, "orders", "--json"))["orders"]
    assert len(board) == 1
    line = board[0]
    assert line["due"] == "2026-12-04"
    assert (line["received"], line["clear"], line["open"]) == (line["parts"], line["parts"], 0)
    number = line["number"]
    done = _run(book, "release", number, "--by", "Bo Marsh", "--out", str(tmp_path))
    assert done.exit_code == 2
    assert "`prepcheck book person 'Bo Marsh' --role approver` enters them" in done.stderr
    assert _run(book, "book", "person", "Bo Marsh", "--role", "approver").exit_code == 0
    done = _run(book, "release", number, "--by", "Bo Marsh", "--out", str(tmp_path), "--jobs", "2",
                "--sheet", "SRA3", "--overs", "6")  # fmt: skip
    assert done.exit_code == 0, done.output
    folder = tmp_path / f"{number}-r1"
    again = _run(book, "release", number, "--by", "Bo Marsh", "--out", str(tmp_path), "--json")
    assert _json(again)["release"] == {
        "against": [], "revision": 1, "folder": str(folder), "differs": [], "again": True,
    }  # fmt: skip
    checked = subprocess.run(["sha256sum", "-c", "SHA256SUMS"], cwd=folder, capture_output=True)
    assert checked.returncode == 0
    sheet = json.loads((folder / f"{number}-sheet.json").read_text("utf-8"))
    assert (sheet["sheets"], sheet["despite"]) == (106, "")  # 500 × 1.06 ÷ 5
    assert f"{number}-sheet.pdf" in (folder / "SHA256SUMS").read_text()
    story = _json(_run(book, "show", number, "--json"))["story"]
    assert story["line"]["waiting_for"] == "plant"
    assert [entry["act"] for entry in story["journal"]] == [
        "order entered", "received", "placed", "examined", "released",
    ]  # fmt: skip
    verified = _run(book, "book", "verify", "--json")
    assert verified.exit_code == 0
    head = _json(verified)["verified"]["head"]
    assert _run(book, "book", "verify", "--expect", head).exit_code == 0
    assert _run(book, "book", "verify", "--expect", "0" * 64).exit_code == 1


def test_what_belongs_to_no_order_is_put_aside_and_listed(book: Path, tmp_path: Path) -> None:
    (tmp_path / "holiday.pdf").write_bytes(paper(["Greetings from the lake"]))
    done = _run(book, "receive", str(tmp_path / "holiday.pdf"))
    assert done.exit_code == 3
    assert "say which with --order" in done.stdout
    assert "holiday.pdf" in _run(book, "orders", "--aside").stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["show", "NO-1"], "order NO-1: is not in the book; `prepcheck orders` lists what is"),
        (["receive", "none.pdf"], "none.pdf: there is no such file"),
        (["receive", ".", "--order", "none.toml"], "none.toml: there is no such order file"),
        (["receive", ".", "--place", "x"], "--place x: write it as FILE=PART"),
        (["orders", "--due", "soon"], "--due soon: is no date; write it as 2026-03-31"),
        (["decide", "NO-1", "1", "--why", "x", "--by", "y"], "say what is decided"),
    ],
)
def test_a_wrong_word_is_a_line(book: Path, words: list[str], said: str) -> None:
    done = _run(book, *words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_book_that_is_not_there_is_not_made_by_looking(tmp_path: Path) -> None:
    done = _run(tmp_path / "none", "orders")
    assert done.exit_code == 2
    assert "there is no book" in done.stderr
    assert not (tmp_path / "none").exists()


def test_an_address_of_another_kind_is_told() -> None:
    done = CliRunner().invoke(cli, ["orders", "--book", "mysql://x"])
    assert done.exit_code == 2
    assert "it looks like postgresql+psycopg://name@host/database" in done.stderr


def test_without_the_extra_one_line_says_what_to_install(tmp_path: Path) -> None:
    """In a fresh interpreter, where SQLAlchemy cannot be found."""
    code = (
        "import sys; sys.modules['sqlalchemy'] = None; "
        "sys.argv = ['prepcheck', 'orders']; from prepcheck.cli import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path
    )
    assert done.returncode == 2
    assert done.stderr == (
        "prepcheck: this needs a part that is not installed: pip install 'prepcheck[book]'\n"
    )


def test_help_and_import_load_none_of_it() -> None:
    code = (
        "import sys, prepcheck, prepcheck.cli, contextlib, io\n"
        "with contextlib.suppress(SystemExit), contextlib.redirect_stdout(io.StringIO()):\n"
        "    sys.argv = ['prepcheck', '--help']; prepcheck.cli.main()\n"
        "print([m for m in ('sqlalchemy', 'alembic', 'watchfiles', 'psycopg', 'distributed') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


@pytest.mark.parametrize(
    "words",
    [
        ["receive", "none.pdf"],
        ["receive", "."],
        ["receive", ""],
        ["receive", "pipe"],
        ["receive", "a.pdf", "--order", "NO-1"],
        ["receive", "a.pdf", "--order", "none.toml"],
        ["book", "enter", "none.toml"],
        ["book", "new", "P-1", "--client", "x", "--title", "x", "--catalogue", "x", "--format",
         "7-inch", "--part", "Label A:A", "--part", "Label A:A"],
    ],
)  # fmt: skip
def test_a_wrong_word_makes_no_book(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    if "a.pdf" in words:
        (tmp_path / "a.pdf").write_bytes(paper(["x"]))
    if "pipe" in words:
        os.mkfifo(tmp_path / "pipe")
    done = _run(tmp_path / "book", *words)
    assert done.exit_code == 2, done.output
    assert done.stderr.count("\n") == 1
    assert not (tmp_path / "book").exists()
