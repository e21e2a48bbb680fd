"""An inbox taken into the book, for months: whatever fails is told, and tried again."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn

from prepcheck.book.book import Book
from prepcheck.book.delivering import Taken, deliver
from prepcheck.book.letters import write_letter
from prepcheck.book.matching import order_of
from prepcheck.book.rounds import Ways, carry_on
from prepcheck.errors import PrepcheckError
from prepcheck.intake.watch import Inbox, Lying
from prepcheck.output import write_whole

Tell = Callable[[dict[str, object]], None]
WHO = "watch"


@dataclass(frozen=True)
class Watch:
    """What is watched and how.

    `out` gets proof, report and letter of each round; taken files are moved to `done_to`. Every
    `scan_s` the folder is looked through whatever the system tells of changes.
    """

    inbox: Path
    out: Path | None = None
    done_to: Path | None = None
    still_s: float = 5.0
    scan_s: float = 60.0


@dataclass
class Watcher:
    """The state of watching: what was seen lying, and what of it is in the book."""

    book: Book
    watch: Watch
    ways: Ways
    tell: Tell
    _inbox: Inbox = field(init=False)
    _taken: set[Lying] = field(default_factory=set)
    _told: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._inbox = Inbox(self.watch.inbox, self.watch.still_s)

    def round(self, now: float) -> bool:
        """Look once and take what is whole; say whether more lies there that is not yet."""
        try:
            with self.book.alone(f"inbox {self.watch.inbox.resolve()}") as mine:
                if not mine:
                    self._once("another watcher is at this inbox; it is left to that one")
                    return True
                for group in self._inbox.look(now, frozenset(self._taken)):
                    self._take(group)
                self._carry_on()
        except PrepcheckError as fault:
            self._once(*fault.lines)
            return True
        except OSError as fault:
            self._once(f"{self.watch.inbox}: cannot be read ({fault.strerror or fault})")
            return True
        self._told.clear()
        return self._inbox.pending > 0

    def _once(self, *lines: str) -> None:
        """Tell a fault once, until all is well again."""
        for line in lines:
            if line not in self._told:
                self._told.add(line)
                self.tell({"event": "fault", "why": line})

    def _take(self, group: Sequence[Lying]) -> None:
        keys = {key_of(self.watch.inbox, one): one for one in group}
        known = self.book.taken(list(keys))
        for key, one in keys.items():
            if key in known:
                self._done(one)
        fresh = [one for key, one in keys.items() if key not in known]
        for order, files in self._by_order(fresh):
            try:
                deliveries = self._deliver(order, files)
            except PrepcheckError as fault:
                self._once(*fault.lines)
                continue
            for taken in deliveries:
                self._say(taken, files, alone=len(deliveries) == 1)
            for one in files:
                self._done(one)

    def _by_order(self, files: Sequence[Lying]) -> Iterator[tuple[str | None, list[Lying]]]:
        """Yield files with the order they are for: their sub-folder's, else the one they name."""
        if not files:
            return
        board = self.book.orders()
        numbers = {line.number.casefold(): line.number for line in board}
        groups: dict[str | None, list[Lying]] = {}
        for one in files:
            named = numbers.get(one.folder.casefold())
            if named is None:
                # A sub-folder belongs together; loose files each say for themselves.
                said = [one.folder] if one.folder else [one.place]
                found = order_of(said, board)
                named = found[0] if len(found) == 1 else None
            groups.setdefault(named, []).append(one)
        yield from groups.items()

    def _deliver(self, order: str | None, files: Sequence[Lying]) -> tuple[Taken, ...]:
        keys = {one.path: key_of(self.watch.inbox, one) for one in files}
        return deliver(
            self.book, [one.path for one in files], order, WHO, self.ways,
            way=f"in {self.watch.inbox.name}", key=keys.get, together=bool(files[0].folder),
        )  # fmt: skip

    def _say(self, taken: Taken, files: Sequence[Lying], alone: bool) -> None:
        delivery = self.book.delivery(taken.delivery)
        names = {file.name for file in delivery.files}
        self.tell(
            {
                "event": "taken" if taken.order is not None else "put aside",
                "delivery": taken.delivery, "order": taken.order, "round": delivery.round,
                "files": [one.place for one in files if alone or one.path.name in names],
                "why": taken.why,
                "refused": list(taken.refused),
                "asked": [file.name for file in delivery.files if file.asked],
            }
        )  # fmt: skip
        for gone in taken.gone:
            self._examined(gone.order, gone.trouble)

    def _carry_on(self) -> None:
        """Go on with what was broken off, here or elsewhere; what was told once is left."""
        if any(state == "arrived" or not self._known(o) for _, o, state in self.book.unfinished()):
            for gone in carry_on(self.book, WHO, self.ways):
                self._examined(gone.order, gone.trouble)

    def _known(self, order: str) -> bool:
        return any(line.startswith(f"order {order}: not examined: ") for line in self._told)

    def _examined(self, order: str, trouble: Iterable[str]) -> None:
        lines = [f"order {order}: not examined: {line}" for line in trouble]
        if lines:
            self._once(*lines)
            return
        story = self.book.story(order)
        if not story.examinations:
            return
        last = story.examinations[-1]
        event: dict[str, object] = {
            "event": "examined", "order": order, "round": last.round, "verdict": last.verdict,
            "open": story.line.open, "missing": list(story.missing),
        }  # fmt: skip
        if self.watch.out is not None:
            stem = self.watch.out / f"{order}-round-{last.round}"
            written = write_letter(self.book, order)
            outputs = [
                (f"{stem}-report.json", self.book.store.read(last.report)),
                (f"{stem}-letter.txt", written.text.encode("utf-8", "replace")),
            ]
            if written.proof is not None:
                outputs.append((f"{stem}-proof.pdf", written.proof))
            for path, data in outputs:
                write_whole(Path(path), data)
            event["outputs"] = [path for path, _ in outputs]
        self.tell(event)

    def _done(self, one: Lying) -> None:
        """Leave a file that is safely in the book alone, or move it away where that is wished."""
        if self.watch.done_to is None:
            self._taken.add(one)
            return
        target = self.watch.done_to / one.place
        count = 1
        while target.exists():
            count += 1
            target = (self.watch.done_to / one.place).with_name(
                f"{Path(one.place).stem}-{count}{Path(one.place).suffix}"
            )
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            one.path.rename(target)
        except OSError as fault:
            self._taken.add(one)
            self._once(f"{one.path}: cannot be moved to {target} ({fault.strerror or fault})")
        else:
            self.tell({"event": "moved", "file": one.place, "to": str(target)})


def key_of(inbox: Path, one: Lying) -> str:
    """Return what a file in an inbox is known by: where it lies, its size and its time."""
    said = f"{inbox.resolve()}\n{one.place}\n{one.bytes}\n{one.time_ns}"
    return hashlib.sha256(said.encode("utf-8", "surrogateescape")).hexdigest()


def watch_on(watcher: Watcher) -> NoReturn:
    """Watch until an exception ends it, such as a signal raises."""
    scanned = -watcher.watch.scan_s
    more = True
    while True:
        for changed in _changes(watcher.watch.inbox):
            now = time.monotonic()
            if changed or more or now - scanned >= watcher.watch.scan_s:
                more = watcher.round(now)
                scanned = now
        time.sleep(1.0)  # the folder is gone; the next look tells


def once(watcher: Watcher) -> None:
    """Look, wait until what lies there had time to grow still, take what is whole, and end."""
    begun = time.monotonic()
    if watcher.round(begun):
        wait = watcher.watch.still_s + 0.01  # so that no rounding falls short
        time.sleep(wait)
        watcher.round(begun + wait)


def _changes(inbox: Path) -> Iterator[bool]:
    """Yield about twice a second whether the system tells of a change in a folder."""
    from watchfiles import watch

    try:
        for changes in watch(
            inbox, rust_timeout=500, yield_on_timeout=True, debounce=400, raise_interrupt=True
        ):
            yield bool(changes)
    except (FileNotFoundError, RuntimeError, OSError):
        yield True
