"""The desk's own processes: started, fed with work, started again when one ends."""

from __future__ import annotations

import logging
import multiprocessing
import queue
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from typing import Any

from prepcheck.book.delivering import Taken
from prepcheck.book.overview import ExaminedAs
from prepcheck.desk.background import (
    Done,
    Opening,
    TakenIn,
    WantedPictures,
    checker_process,
    drawer_process,
    examiner_process,
    taker_process,
)
from prepcheck.desk.messages import received, send
from prepcheck.desk.taking import Given
from prepcheck.errors import BookError

_LOG = logging.getLogger("prepcheck.desk")
_LOOK = 5.0
"""Seconds after which the examiner looks even where nobody woke it: others write in the book."""
_SWEPT = 60.0
"""Seconds after which it is seen whether checks for people outside are too old."""
_AGAIN = 2.0
_MOST_ASKED = 2_000

Main = Callable[[Opening, Connection], None]


class Child:
    """A process that does one piece of work after another.

    `work` gives the next piece, waiting for it, and None at the end; `then` is told what is to be
    drawn after a piece.
    """

    def __init__(
        self,
        name: str,
        main: Main,
        opening: Opening,
        work: Callable[[], Any],
        then: Callable[[WantedPictures], None] = lambda wanted: None,
    ) -> None:
        self._name, self._main, self._opening, self._work = name, main, opening, work
        self._then = then
        self._context = multiprocessing.get_context("spawn")
        self._process: Any = None
        self._pipe: Connection | None = None
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._ended = threading.Event()

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def end(self) -> None:
        """End the process; what it was at is done when it is started again."""
        self._ended.set()
        process = self._process
        if process is not None and process.is_alive():
            process.terminate()
            process.join(5)
            if process.is_alive():
                process.kill()
                process.join()

    def _run(self) -> None:
        while not self._ended.is_set():
            asked = self._work()
            if asked is None or self._ended.is_set():
                return
            try:
                pipe = self._pipe or self._begun()
                send(pipe, asked)
                done = received(pipe, Done)
                if done.fault:
                    _LOG.error("%s: %s", self._name, done.fault)
                for one in done.wanted:
                    self._then(one)
            except (EOFError, OSError):
                self._pipe = None
                if not self._ended.is_set():
                    _LOG.error("%s: ended by itself; it is started again", self._name)
                    time.sleep(_AGAIN)

    def _begun(self) -> Connection:
        ours, theirs = self._context.Pipe()
        self._process = self._context.Process(
            target=self._main, args=(self._opening, theirs), name=self._name
        )
        self._process.start()
        theirs.close()
        self._pipe = ours
        return ours


class Taker:
    """A process that takes in what is much work, started when it is first needed."""

    def __init__(self, opening: Opening) -> None:
        self._opening, self._lock = opening, threading.Lock()
        self._process: Any = None
        self._pipe: Connection | None = None

    def ask(self, given: Given) -> tuple[Taken, ...]:
        """Return what came of a delivery. Raises BookError."""
        with self._lock:
            try:
                pipe = self._pipe or self._begun()
                send(pipe, given)
                answer = received(pipe, TakenIn)
            except (EOFError, OSError):
                self._pipe = None
                raise BookError(
                    "the files could not be taken in and nothing was recorded; send them one "
                    "by one, without an archive"
                ) from None
        if answer.fault is not None:
            raise BookError(*answer.fault)
        return answer.taken

    def end(self) -> None:
        """End the process."""
        if self._process is not None and self._process.is_alive():
            self._process.terminate()
            self._process.join(5)

    def _begun(self) -> Connection:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        self._process = context.Process(
            target=taker_process, args=(self._opening, theirs), name="prepcheck-taker"
        )  # fmt: skip
        self._process.start()
        theirs.close()
        self._pipe = ours
        return ours


class Children:
    """The examiner, the drawer and, where it is opened, the checker of a desk.

    `busy` says that work has been left.
    """

    def __init__(self, opening: Opening, *, busy: bool = True) -> None:
        self._woken = threading.Event()
        if busy:  # else the first page need not wait for a process to start beside it
            self._woken.set()
        self._check_woken = threading.Event()
        self._check_woken.set()
        self._over = False
        self._asked: queue.LifoQueue[WantedPictures | None] = queue.LifoQueue()
        self._waiting: set[WantedPictures] = set()
        self._lock = threading.Lock()
        self._taker = Taker(opening)
        self._all = [
            Child("prepcheck-examiner", examiner_process, opening, self._next_look, self._ask),
            Child("prepcheck-drawer", drawer_process, opening, self._next_drawn),
        ]
        if opening.checks_last is not None:
            self._all.append(Child("prepcheck-checker", checker_process, opening, self._next_check))

    def start(self) -> None:
        """Start them; what was broken off goes on."""
        for child in self._all:
            child.start()

    def end(self) -> None:
        """End them."""
        self._over = True
        self._woken.set()
        self._check_woken.set()
        self._asked.put(None)
        with suppress(OSError):
            self._taker.end()
        for child in self._all:
            with suppress(OSError):
                child.end()

    def wake(self) -> None:
        """Say that there is something to match, examine or release."""
        self._woken.set()

    def take(self, given: Given) -> tuple[Taken, ...]:
        """Take in a delivery that is much work, one at a time, at low priority."""
        return self._taker.ask(given)

    def wake_check(self) -> None:
        """Say that somebody outside has sent a file."""
        self._check_woken.set()

    def ask(self, looks: ExaminedAs) -> None:
        """Have pictures drawn, the latest asked for first."""
        self._ask(WantedPictures(looks))

    def ask_tiles(self, looks: ExaminedAs) -> None:
        """Have the tiles of a part cut, as `ask` does."""
        self._ask(WantedPictures(looks, tiles=True))

    def _ask(self, wanted: WantedPictures) -> None:
        with self._lock:
            if wanted in self._waiting or len(self._waiting) >= _MOST_ASKED:
                return
            self._waiting.add(wanted)
        self._asked.put(wanted)

    def _next_look(self) -> str | None:
        self._woken.wait(_LOOK)
        self._woken.clear()
        return None if self._over else "look"

    def _next_check(self) -> str | None:
        self._check_woken.wait(_SWEPT)
        self._check_woken.clear()
        return None if self._over else "look"

    def _next_drawn(self) -> WantedPictures | None:
        wanted = self._asked.get()
        if wanted is not None:
            with self._lock:
                self._waiting.discard(wanted)
        return wanted
