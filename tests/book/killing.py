"""Kills steps of the book at random moments, and says what was lost. Run as a program.

It has one thread and forks each step, so that what is slow to import is imported once. Every book
is opened in such a child, never here.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path

import prepcheck.book.verify
import prepcheck.proof.write  # noqa: F401
from prepcheck.book import releasing
from prepcheck.book.book import Book, open_book
from prepcheck.book.records import Decide, Role
from prepcheck.book.releasing import release
from prepcheck.book.rounds import Ways, carry_on, receive
from tests.book.orders import Scripted, files, new_order, unseen

Step = Callable[[], None]


class Trial:
    """One book, in which orders go from delivery to release, a step killed at a time."""

    def __init__(self, where: str, folder: Path, seed: int) -> None:
        self.where = where
        self.folder = folder
        self.random = random.Random(seed)
        self.killed = 0
        self.faults: list[str] = []
        self.books: list[Book] = []

    def opened(self) -> Book:
        self.books.append(open_book(self.where, files=self.folder / "book"))
        return self.books[-1]

    def warm(self) -> None:
        """Do all steps once in a book of its own, here, so that children import nothing."""
        given = files(self.folder / "in", {"label-a.pdf": "a.b stop 1 Short."})
        given += files(self.folder / "in", {"label-b.pdf": "", "jacket.pdf": "\n"})
        book = self.opened()
        book.add_person("Bo Marsh", Role.APPROVER, "Bo Marsh")
        book.enter(new_order("TR-1"), "Ada Fenn")
        for step in (lambda: self.receive("TR-1", given), lambda: self.decide("TR-1")):
            step()
        self.release("TR-1")
        self.sound()
        for one in (*self.books, book):
            one.close()

    def run(self, kills: int) -> None:
        self.child(self.begin)
        number = 0
        lengths: dict[str, float] = {}
        while self.killed < kills and not self.faults:
            number += 1
            order = f"TR-{number}"
            came = {
                "label-a.pdf": f"a.b stop {number} Ink stops short.\nc.d query 9 Small {number}.",
                "label-b.pdf": f"e.f note 1 Number {number}.",
                "jacket.pdf": f"\n{' ' * number}\n",
            }
            given = files(self.folder / "in" / order, came)
            steps = {
                "receive": lambda o=order, g=given: self.receive(o, g),
                "decide": lambda o=order: self.decide(o),
                "release": lambda o=order: self.release(o),
            }
            self.child(lambda o=order: self.opened().enter(new_order(o, f"TRL {o}"), "Ada Fenn"))
            for name, step in steps.items():
                if name not in lengths:
                    # The first order shows how long each step takes; later ones are killed.
                    begun = time.monotonic()
                    self.child(step)
                    lengths[name] = time.monotonic() - begun
                else:
                    self.child(step, kill_after=self.random.uniform(0, 1.05 * lengths[name]))
                self.child(lambda n=name, o=order, s=step: self.sound_again_and_done(n, o, s))

    def child(self, step: Step, kill_after: float | None = None) -> None:
        """Run a step in a process of its own; kill it after so many seconds, if it still runs."""
        reader, writer = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(reader)
            try:
                step()
            except BaseException:
                os.write(writer, traceback.format_exc()[-3000:].encode())
                os._exit(1)
            os._exit(0)
        os.close(writer)
        if kill_after is not None:
            time.sleep(kill_after)
            os.kill(pid, signal.SIGKILL)  # a child that has ended waits for its parent
        said = b""
        while part := os.read(reader, 1 << 16):
            said += part
        os.close(reader)
        _, status = os.waitpid(pid, 0)
        if os.WIFSIGNALED(status):
            self.killed += 1
        elif status:
            self.faults.append(said.decode(errors="replace"))

    def begin(self) -> None:
        book = self.opened()
        book.add_person("Bo Marsh", Role.APPROVER, "Bo Marsh")

    def receive(self, order: str, given: list[tuple[str, Path]]) -> None:
        book = self.opened()
        receive(book, given, order, "Ada Fenn")
        carry_on(book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))

    def decide(self, order: str) -> None:
        book = self.opened()
        numbers = [finding.number for finding in book.story(order).open]
        if numbers:
            book.decide(order, numbers, Decide.ACCEPT, "wanted", "Bo Marsh")

    def release(self, order: str) -> None:
        ways = Ways(look=unseen, examiner=Scripted())
        done = release(self.opened(), order, "Bo Marsh", self.folder / "out", ways)
        assert done.against == (), done.against

    def sound(self) -> None:
        found = self.opened().verify()
        assert found.faults == (), found.faults

    def sound_again_and_done(self, name: str, order: str, step: Step) -> None:
        """See that the book is sound, do the step again, and hold what came of it against what it
        does when left alone."""
        self.sound()
        step()
        book = self.opened()
        story = book.story(order)
        states = [(d.round, d.state, len(d.files)) for d in story.deliveries]
        assert states == [(1, "examined", 3)], states
        looked = [(e.round, e.turn) for e in story.examinations]
        assert looked == [(1, 1)], looked
        assert [f.check for f in story.findings] == ["a.b", "c.d", "e.f"], story.findings
        if name == "receive":
            return
        decided = [d.finding for d in story.decisions]
        assert decided == [1, 2], decided
        if name == "decide":
            return
        assert [r.revision for r in story.releases] == [1], story.releases
        folder = self.folder / "out" / f"{order}-r1"
        assert len(list(folder.iterdir())) == 6, list(folder.iterdir())
        acts = [entry.act for entry in story.journal]
        wanted = ["order entered", "received", "placed", "examined", "accept", "released"]
        assert acts == wanted, acts


if __name__ == "__main__":
    # Drawing writes nothing, and would take most of the time.
    releasing.drawn = lambda *_: b"%PDF-1.4 stands for a proof"  # type: ignore[assignment]
    warmed = Path(sys.argv[2]) / "warm"
    Trial(str(warmed / "book"), warmed, seed=0).warm()
    trial = Trial(sys.argv[1], Path(sys.argv[2]), seed=int(sys.argv[4]))
    trial.run(int(sys.argv[3]))
    trial.child(trial.sound)
    print(json.dumps({"killed": trial.killed, "faults": trial.faults}))  # noqa: T201
