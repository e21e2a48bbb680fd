"""What the desk has done beside its pages: deliveries matched and examined, releases written,
pictures drawn. Each runs in a process of its own, at low priority."""

from __future__ import annotations

import functools
import logging
import os
import shutil
import signal
import uuid
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TypeVar

from prepcheck.book.book import Book, open_book
from prepcheck.book.delivering import Taken
from prepcheck.book.examinations import ExaminedOrder
from prepcheck.book.overview import ExaminedAs, Overview
from prepcheck.book.releasing import release
from prepcheck.book.rounds import Gone, Ways, carry_on
from prepcheck.book.stored import storable
from prepcheck.desk.calling import tell_verdicts
from prepcheck.desk.messages import received, send
from prepcheck.desk.pictures import FACTS, FAILED, TILES, Pictures, key_of
from prepcheck.desk.self_check import Checks, check
from prepcheck.desk.taking import Given, take
from prepcheck.desk.tidying import Bounded
from prepcheck.errors import PrepcheckError, itself_failed
from prepcheck.output import write_whole
from prepcheck.run.alone import done_alone
from prepcheck.run.art_pictures import PicturesAnswer, PicturesTask, draw_pictures, keep_pictures
from prepcheck.run.art_tiles import draw_tiles
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.examine import Examined, examine
from prepcheck.run.or_here import ClusterOrHere
from prepcheck.spec.load import load_spec

A = TypeVar("A")

WHO = "desk"
"""Who the journal says did what nobody asked for by hand."""
_NICE = 10
_LOG = logging.getLogger("prepcheck.desk")


@dataclass(frozen=True, slots=True)
class Opening:
    """How another process opens the book, and where it writes releases."""

    where: str
    files: Path | None
    released_to: Path
    jobs: int = 1
    pictures_bytes: int = 4 << 30
    checks_last: float | None = None
    """How long checks for people outside are kept, in seconds; None where there are none."""
    cluster: str | None = None
    """Address of a scheduler whose workers examine the parts of orders; `shared` says that they
    have the book's files at the same paths."""
    shared: bool = False


@dataclass
class Examiner:
    """Does what waits in a book; remembers which orders cannot be examined as they are."""

    book: Book
    ways: Ways
    released_to: Path
    _stuck: dict[str, int] = field(default_factory=dict)

    def look(self) -> tuple[Gone, ...]:
        """Match and examine what is unfinished, release what was asked for, tell verdicts."""
        gone: list[Gone] = []
        for number in dict.fromkeys(name for _, name, _ in self.book.unfinished()):
            if self._stuck.get(number) == self._latest(number):
                continue
            gone += self._carried_on(number)
        for asked in Overview(self.book).asked_releases():
            said = self._released(asked.order, asked.asked_by)
            Overview(self.book).release_done(asked.id, said)
        tell_verdicts(self.book)
        return tuple(gone)

    def _carried_on(self, number: str) -> tuple[Gone, ...]:
        gone: tuple[Gone, ...] = ()
        why = ""
        try:
            gone = carry_on(self.book, WHO, self.ways, order=number)
            why = "; ".join(line for one in gone for line in one.trouble)
        except PrepcheckError as fault:
            why = " ".join(fault.lines)
        except Exception as error:
            why = itself_failed(error)
            self.book.trouble(number, why, WHO)
        if why:
            self._stuck[number] = self._latest(number)
        return gone

    def _latest(self, number: str) -> int:
        return self.book.story(number).journal[-1].number

    def _released(self, number: str, who: str) -> tuple[str, ...]:
        try:
            done = release(self.book, number, who, self.released_to, self.ways)
        except PrepcheckError as fault:
            return tuple(fault.lines)
        except Exception as error:
            return (itself_failed(error),)
        if done.against:
            return tuple(f"not released: {line}" for line in done.against)
        return (f"released as revision {done.revision}",)


@dataclass(frozen=True, slots=True)
class WantedPictures:
    """Pictures of a part, or its tiles for the viewer."""

    looks: ExaminedAs
    tiles: bool = False


def keep_shown(pictures: Pictures, looked: ExaminedOrder, examined: Examined) -> None:
    """Keep the pictures that the proof has of parts, so that none need be drawn."""
    files = {file.part: file for file in looked.files}
    specs = dict(looked.specs)
    for part in examined.parts:
        file, spec = files.get(storable(part.result.name)), specs.get(part.result.name)
        if file is None or spec is None:
            continue
        looks = ExaminedAs(file.digest, file.page, part.result.spec, spec.digest)
        place = pictures.place(key_of(looks))
        if (place / FACTS).is_file():
            continue
        with suppress(OSError), _aside(pictures) as aside:
            facts = keep_pictures(part, aside)
            if facts:
                (aside / FACTS).write_text(facts)
                _moved(aside, place)


def without_tiles(book: Book, pictures: Pictures, orders: Sequence[str]) -> list[WantedPictures]:
    """Return what is to be cut into tiles of orders that were examined."""
    wanted = []
    for pieces in Overview(book).pieces(orders).values():
        for piece in pieces:
            if piece.looks is None or piece.looks.spec_digest is None:
                continue
            place = pictures.place(key_of(piece.looks)) / TILES
            if not (place / FACTS).is_file() and not (place / FAILED).is_file():
                wanted.append(WantedPictures(piece.looks, tiles=True))
    return wanted


@dataclass(frozen=True, slots=True)
class Done:
    """What came of a piece of work: how it failed, and what is to be drawn now."""

    fault: str = ""
    wanted: tuple[WantedPictures, ...] = ()


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What came of a delivery that was to be taken in: `fault` has the lines of why it was not."""

    taken: tuple[Taken, ...] = ()
    fault: tuple[str, ...] | None = None


@contextmanager
def _aside(pictures: Pictures) -> Iterator[Path]:
    aside = pictures.folder / "aside" / uuid.uuid4().hex
    aside.mkdir(parents=True)
    try:
        yield aside
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def draw(book: Book, pictures: Pictures, looks: ExaminedAs, *, tiles: bool = False) -> bool:
    """Draw the pictures of a part, or its tiles, and say whether there are any now.

    They appear whole or not at all; where they cannot be drawn, that is noted in their place.
    """
    place = pictures.place(key_of(looks))
    if tiles:
        place = place / TILES
    if (place / FACTS).is_file():
        return True
    try:
        with _aside(pictures) as aside:
            answer = _drawn(book, looks, aside, draw_tiles if tiles else draw_pictures)
            (aside / FACTS).write_text(answer.facts)
            _moved(aside, place)
    except PrepcheckError as fault:
        place.mkdir(parents=True, exist_ok=True)
        write_whole(place / FAILED, "\n".join(fault.lines).encode("utf-8", "replace"))
        return False
    return True


def _drawn(
    book: Book, looks: ExaminedAs, folder: Path, work: Callable[[PicturesTask], PicturesAnswer]
) -> PicturesAnswer:
    own = folder / "spec.toml"
    own.write_bytes(book.store.read(looks.spec_digest or ""))
    spec = load_spec(own)
    own.unlink()
    task = PicturesTask(book.path(looks.digest), spec, looks.page, folder)
    return done_alone(
        work, task, PicturesAnswer, limits=WorkerLimits(), scratch=folder, what="its art"
    )


def _moved(aside: Path, place: Path) -> None:
    place.parent.mkdir(parents=True, exist_ok=True)
    try:
        aside.rename(place)
    except OSError:  # another has drawn the same, or noted that it could not
        if not (place / FACTS).is_file():
            shutil.rmtree(place, ignore_errors=True)
            aside.rename(place)


def examiner_process(opening: Opening, pipe: Connection) -> None:
    """Look whenever the desk says so, until it is gone."""
    _settle_down()
    book = open_book(opening.where, files=opening.files, make=False)
    pictures = Pictures(book.folder / "pictures", lambda looks: None)
    executor = None
    if opening.cluster is not None:
        executor = ClusterOrHere(opening.cluster, opening.shared, opening.jobs, _LOG.error)
    ways = Ways(
        examiner=functools.partial(examine, jobs=opening.jobs, executor=executor),
        shown=functools.partial(keep_shown, pictures),
    )
    examiner = Examiner(book, ways, opening.released_to)

    def look(_: str) -> list[WantedPictures]:
        gone = examiner.look()
        return without_tiles(book, pictures, [*dict.fromkeys(one.order for one in gone)])

    _serve(pipe, str, look)


def drawer_process(opening: Opening, pipe: Connection) -> None:
    """Draw what the desk asks for, one part at a time, until it is gone."""
    _settle_down()
    book = open_book(opening.where, files=opening.files, make=False)
    pictures = Pictures(book.folder / "pictures", lambda looks: None)
    bounded = Bounded(pictures.folder, opening.pictures_bytes)

    def draw_one(asked: WantedPictures) -> list[WantedPictures]:
        draw(book, pictures, asked.looks, tiles=asked.tiles)
        place = pictures.place(key_of(asked.looks))
        bounded.added(place / TILES if asked.tiles else place)
        return []

    _serve(pipe, WantedPictures, draw_one)


def taker_process(opening: Opening, pipe: Connection) -> None:
    """Take in deliveries that are much work, until the desk is gone; answer with what came of
    each."""
    _settle_down()
    book = open_book(opening.where, files=opening.files, make=False)
    with suppress(EOFError, OSError):
        while True:
            given = received(pipe, Given)
            try:
                answer = TakenIn(take(book, given))
            except PrepcheckError as fault:
                answer = TakenIn(fault=fault.lines)
            except Exception as error:
                answer = TakenIn(fault=(itself_failed(error),))
            send(pipe, answer)


def checker_process(opening: Opening, pipe: Connection) -> None:
    """Examine what people outside have sent, and let go of what is too old, until it is gone."""
    _settle_down()
    book = open_book(opening.where, files=opening.files, make=False)
    checks = Checks(book.folder / "checks", opening.checks_last or 0.0)

    def look(_: str) -> list[WantedPictures]:
        checks.sweep()
        for place in checks.waiting():
            check(place)
        return []

    _serve(pipe, str, look)


def _serve(pipe: Connection, kind: type[A], work: Callable[[A], list[WantedPictures]]) -> None:
    """Do what is asked for, one after the other, and say what came of it."""
    with suppress(EOFError, OSError):
        while True:
            asked = received(pipe, kind)
            try:
                done = Done(wanted=tuple(work(asked)))
            except PrepcheckError as error:
                done = Done(" ".join(error.lines))
            except Exception as error:
                done = Done(itself_failed(error))
            send(pipe, done)


def _settle_down() -> None:
    """Leave the processor to the pages, and the end to the desk: Ctrl-C is for it alone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    with suppress(OSError, AttributeError):
        os.nice(_NICE)
