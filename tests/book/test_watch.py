"""A watched folder: what is taken, what is left alone, and that nothing is taken twice."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

import pytest

from prepcheck.book.book import Book, open_book
from prepcheck.book.rounds import Ways
from prepcheck.book.watching import Watch, Watcher, once
from prepcheck.intake.watch import Inbox, open_for_writing, temporary, whole_archive
from tests.book.orders import Scripted, entered, new_order, unseen

pytestmark = pytest.mark.usefixtures("no_pictures")

SAMPLE = Path(__file__).parents[2] / "sample_art" / "clear"
Events = list[dict[str, Any]]


def _watcher(book: Book, inbox: Path, **more: Any) -> tuple[Watcher, Events]:
    events: Events = []
    inbox.mkdir(exist_ok=True)
    settings = Watch(inbox, still_s=5.0, **more)
    ways = Ways(look=unseen, examiner=Scripted(), draw=False)
    return Watcher(book, settings, ways, events.append), events


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)


@pytest.mark.parametrize(
    ("name", "left"),
    [
        ("label-a.pdf", False),
        ("~$label.pdf", True),
        (".label-a.pdf.Xy12", True),
        ("label-a.pdf.part", True),
        ("LABEL.PDF.CRDOWNLOAD", True),
        ("label-a.pdf~", True),
        ("Thumbs.db", True),
        ("partial view.pdf", False),
        ("tmp.pdf", False),
    ],
)
def test_temporary_names_are_left_alone(name: str, left: bool) -> None:
    assert temporary(name) is left


def test_a_file_is_whole_once_it_is_still(tmp_path: Path) -> None:
    inbox = Inbox(tmp_path, still_s=5.0)
    _write(tmp_path / "a.pdf", "one")
    assert inbox.look(100.0, frozenset()) == []
    _write(tmp_path / "a.pdf", "one and two")
    assert inbox.look(104.0, frozenset()) == []
    assert inbox.look(108.9, frozenset()) == []
    ((found,),) = inbox.look(109.0, frozenset())
    assert (found.place, found.bytes) == ("a.pdf", 11)


def test_a_change_of_time_alone_counts_as_growing(tmp_path: Path) -> None:
    inbox = Inbox(tmp_path, still_s=5.0)
    _write(tmp_path / "a.pdf", "one")
    inbox.look(100.0, frozenset())
    os.utime(tmp_path / "a.pdf", (1, 1))
    assert inbox.look(105.0, frozenset()) == []
    assert len(inbox.look(110.0, frozenset())) == 1


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="no /proc to look in")
def test_a_file_that_somebody_has_open_to_write_is_left(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    inbox = Inbox(tmp_path, still_s=0.0)
    with path.open("w") as file:
        file.write("one")
        file.flush()
        assert open_for_writing([path]) == {path}
        assert inbox.look(1.0, frozenset()) == []
    with path.open() as _:
        assert open_for_writing([path]) == set()
    assert len(inbox.look(2.0, frozenset())) == 1


def test_a_zip_is_taken_when_its_directory_is_whole(tmp_path: Path) -> None:
    whole = tmp_path / "whole.zip"
    with zipfile.ZipFile(whole, "w") as packed:
        packed.writestr("label-a.pdf", "x" * 5000)
    (tmp_path / "in").mkdir()
    half = tmp_path / "in" / "half.zip"
    half.write_bytes(whole.read_bytes()[:-30])
    assert whole_archive(whole)
    assert not whole_archive(half)
    inbox = Inbox(tmp_path / "in", still_s=5.0)
    inbox.look(0.0, frozenset())
    assert inbox.look(20.0, frozenset()) == []
    assert len(inbox.look(100.0, frozenset())) == 1, "a broken one is not ignored for ever"


def test_a_sub_folder_waits_until_all_in_it_is_whole(tmp_path: Path) -> None:
    inbox = Inbox(tmp_path, still_s=5.0)
    _write(tmp_path / "TR-1" / "a.pdf", "one")
    _write(tmp_path / "loose.pdf", "one")
    inbox.look(0.0, frozenset())
    _write(tmp_path / "TR-1" / "disc 1" / "b.pdf", "two")
    found = inbox.look(5.0, frozenset())
    assert [[one.place for one in own] for own in found] == [["loose.pdf"]]
    found = inbox.look(10.0, frozenset())
    assert sorted(one.place for own in found for one in own) == [
        "TR-1/a.pdf", "TR-1/disc 1/b.pdf", "loose.pdf",
    ]  # fmt: skip


def test_folders_are_orders_names_tell_the_rest_is_put_aside(book: Book, tmp_path: Path) -> None:
    entered(book)
    book.enter(new_order("TR-2", "TRL 002"), "Ada Fenn")
    watcher, events = _watcher(book, tmp_path / "in")
    _write(tmp_path / "in" / "TR-1" / "label-a.pdf", "a.b stop 1 Short.")
    _write(tmp_path / "in" / "TRL 002 jacket.pdf", "")
    _write(tmp_path / "in" / "holiday.pdf", "\n")
    assert watcher.round(0.0), "not still yet"
    assert events == []
    watcher.round(6.0)
    told = {(e["event"], e.get("order")): e for e in events}
    assert told["taken", "TR-1"]["files"] == ["TR-1/label-a.pdf"]
    assert told["examined", "TR-1"]["verdict"] == "stop"
    assert told["taken", "TR-2"]["files"] == ["TRL 002 jacket.pdf"]
    assert book.story("TR-2").deliveries[0].files[0].parts == ("Jacket",)
    assert told["put aside", None]["files"] == ["holiday.pdf"]
    count = len(events)
    watcher.round(60.0)
    assert len(events) == count
    assert (tmp_path / "in" / "holiday.pdf").exists(), "the inbox is never changed"


def test_another_watcher_and_a_restart_take_nothing_twice(
    opened: Callable[[], Book], tmp_path: Path
) -> None:
    book = opened()
    entered(book)
    first, _ = _watcher(book, tmp_path / "in")
    _write(tmp_path / "in" / "TR-1" / "label-a.pdf", "a.b stop 1 Short.")
    first.round(0.0)
    first.round(6.0)
    second, events = _watcher(opened(), tmp_path / "in")
    second.round(0.0)
    second.round(6.0)
    assert events == []
    assert len(book.story("TR-1").deliveries) == 1
    time.sleep(0.01)
    _write(tmp_path / "in" / "TR-1" / "label-a.pdf", "a.b stop 1 Better.")
    second.round(10.0)
    second.round(16.0)
    assert len(book.story("TR-1").deliveries) == 2, "a corrected file under the same name"


def test_two_deliveries_of_one_lying_file_are_one(book: Book, tmp_path: Path) -> None:
    """As two watchers on machines without a common lock would record it."""
    from prepcheck.book.deliveries import Came

    entered(book)
    kept = book.store.keep_bytes(b"x")
    came = [Came("label-a.pdf", kept, key="k" * 64, path="in/label-a.pdf")]
    one, new = book.arrive(came, "TR-1", "watch")
    book.arrive([Came("jacket.pdf", book.store.keep_bytes(b"y"))], "TR-1", "Ada Fenn")
    assert new
    assert book.arrive(came, "TR-1", "watch") == (one, False)


def test_taken_files_are_moved_where_that_is_wished(book: Book, tmp_path: Path) -> None:
    entered(book)
    watcher, events = _watcher(book, tmp_path / "in", done_to=tmp_path / "done")
    for text in ("", "\n"):
        _write(tmp_path / "in" / "TR-1" / "label-a.pdf", text)
        watcher.round(0.0)
        watcher.round(6.0)
    assert sorted(path.name for path in (tmp_path / "done" / "TR-1").iterdir()) == [
        "label-a-2.pdf", "label-a.pdf",
    ]  # fmt: skip
    assert not list((tmp_path / "in" / "TR-1").iterdir())
    assert [e["event"] for e in events].count("moved") == 2


def test_a_fault_is_told_once_and_tried_again(book: Book, tmp_path: Path) -> None:
    watcher, events = _watcher(book, tmp_path / "in")
    (tmp_path / "in").rmdir()
    for now in (0.0, 1.0, 2.0):
        assert watcher.round(now)
    assert [e["event"] for e in events] == ["fault"]
    entered(book)
    _write(tmp_path / "in" / "TR-1" / "label-a.pdf", "")
    watcher.round(3.0)
    watcher.round(9.0)
    assert [e["event"] for e in events[1:]] == ["taken", "examined"]


def test_once_takes_what_lies_there(book: Book, tmp_path: Path) -> None:
    entered(book)
    watcher, events = _watcher(book, tmp_path / "in")
    object.__setattr__(watcher.watch, "still_s", 0.05)
    watcher._inbox.still_s = 0.05
    _write(tmp_path / "in" / "TR-1" / "label-a.pdf", "")
    once(watcher)
    assert [e["event"] for e in events] == ["taken", "examined"]


@contextmanager
def _running(*words: str) -> Iterator[tuple[subprocess.Popen[str], IO[str]]]:
    code = "from prepcheck.cli import main; main()"
    command = [sys.executable, "-c", code, "watch", *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        try:
            yield process, process.stdout
        finally:
            process.kill()


def test_the_command_takes_what_comes_and_ends_when_told(tmp_path: Path) -> None:
    """The real thing on the sample's label: events as lines, outputs, SIGTERM in a few seconds."""
    inbox, out, where = tmp_path / "in", tmp_path / "out", tmp_path / "book"
    inbox.mkdir()
    book = open_book(where)
    book.enter(new_order("TR-1", "TRL 001"), "Ada Fenn")
    words = [str(inbox), "--book", str(where), "--out", str(out), "--still", "0.3"]
    with _running(*words) as (process, lines):
        assert json.loads(lines.readline())["event"] == "watching"
        (inbox / "TR-1").mkdir()
        (inbox / "TR-1" / "label-a.pdf").write_bytes((SAMPLE / "label-a.pdf").read_bytes())
        assert json.loads(lines.readline())["event"] == "taken"
        told = json.loads(lines.readline())
        assert (told["event"], told["order"], told["round"]) == ("examined", "TR-1", 1)
        assert sorted(path.name for path in out.iterdir()) == [
            "TR-1-round-1-letter.txt", "TR-1-round-1-proof.pdf", "TR-1-round-1-report.json",
        ]  # fmt: skip
        process.send_signal(signal.SIGTERM)
        assert json.loads(lines.readline())["event"] == "ended"
        assert process.wait(timeout=60) == 0
    assert book.verify().faults == ()
    book.close()
