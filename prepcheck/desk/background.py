"""What the desk has done beside its pages: deliveries matched and examined, releases written,
pictures drawn. Each runs in a process of its own, at low priority."""

from __future__ import annotations

import functools
import os
import shutil
import signal
import uuid
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path

from prepcheck.book.book import Book, open_book
from prepcheck.book.overview import Looks, Overview
from prepcheck.book.releasing import release
from prepcheck.book.rounds import Gone, Ways, carry_on
from prepcheck.desk.calling import tell_verdicts
from prepcheck.desk.pictures import FACTS, FAILED, TILES, Pictures, key_of
from prepcheck.errors import PrepcheckError, itself_failed
from prepcheck.output import write_whole
from prepcheck.run.alone import done_alone
from prepcheck.run.art_pictures import PicturesAnswer, PicturesTask, draw_pictures
from prepcheck.run.art_tiles import draw_tiles
from prepcheck.run.examine import examine
from prepcheck.run.limits import WorkerLimits
from prepcheck.spec.load import load_spec

WHO = "desk"
"""Who the journal says did what nobody asked for by hand."""
_NICE = 10


@dataclass(frozen=True, slots=True)
class Opening:
    """How another process opens the book, and where it writes releases."""

    where: str
    files: Path | None
    released_to: Path
    jobs: int = 1


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
class Wanted:
    """Pictures of a part, or its tiles for the viewer."""

    looks: Looks
    tiles: bool = False


def draw(book: Book, pictures: Pictures, looks: Looks, *, tiles: bool = False) -> bool:
    """Draw the pictures of a part, or its tiles, and say whether there are any now.

    They appear whole or not at all; where they cannot be drawn, that is noted in their place.
    """
    place = pictures.place(key_of(looks))
    if tiles:
        place = place / TILES
    if (place / FACTS).is_file():
        return True
    aside = pictures.folder / "aside" / uuid.uuid4().hex
    try:
        aside.mkdir(parents=True)
        answer = _drawn(book, looks, aside, draw_tiles if tiles else draw_pictures)
        (aside / FACTS).write_text(answer.facts)
        _moved(aside, place)
    except PrepcheckError as fault:
        place.mkdir(parents=True, exist_ok=True)
        write_whole(place / FAILED, "\n".join(fault.lines).encode("utf-8", "replace"))
        return False
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return True


def _drawn(
    book: Book, looks: Looks, folder: Path, work: Callable[[PicturesTask], PicturesAnswer]
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
    ways = Ways(examiner=functools.partial(examine, jobs=opening.jobs))
    examiner = Examiner(book, ways, opening.released_to)

    def look(_: object) -> None:
        examiner.look()

    _serve(pipe, look)


def drawer_process(opening: Opening, pipe: Connection) -> None:
    """Draw what the desk asks for, one part at a time, until it is gone."""
    _settle_down()
    book = open_book(opening.where, files=opening.files, make=False)
    pictures = Pictures(book.folder / "pictures", lambda looks: None)

    def draw_one(asked: object) -> None:
        if isinstance(asked, Wanted):
            draw(book, pictures, asked.looks, tiles=asked.tiles)

    _serve(pipe, draw_one)


def _serve(pipe: Connection, work: Callable[[object], None]) -> None:
    with suppress(EOFError, OSError):
        while True:
            asked = pipe.recv()
            fault = ""
            try:
                work(asked)
            except PrepcheckError as error:
                fault = " ".join(error.lines)
            except Exception as error:
                fault = itself_failed(error)
            pipe.send(fault)


def _settle_down() -> None:
    """Leave the processor to the pages, and the end to the desk: Ctrl-C is for it alone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    with suppress(OSError, AttributeError):
        os.nice(_NICE)
