"""What was named on the command line, or lay in an inbox, as a delivery: folders walked, archives
unpacked, its order looked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path, PurePosixPath

from prepcheck.book.book import Book
from prepcheck.book.deliveries import Came
from prepcheck.book.entering import enter_order, read_order
from prepcheck.book.matching import order_of
from prepcheck.book.rounds import Gone, Ways, carry_on
from prepcheck.errors import BookError, UsageError
from prepcheck.intake.aside import aside
from prepcheck.intake.unpack import Delivered, looks_like_zip, unpack

Key = Callable[[Path], str | None]
_LITTER = ("__MACOSX", "Thumbs.db", "desktop.ini", ".DS_Store")
_PAPERS = (
    ".toml", ".txt", ".md", ".csv", ".json", ".xml", ".htm", ".html", ".rtf", ".doc", ".docx",
    ".odt", ".xls", ".xlsx", ".ods", ".ttf", ".otf",
)  # fmt: skip
"""Endings of what comes along with artwork and is none; it is kept, and asked about by nobody."""
_PAPER = "no artwork by its name; kept with the delivery"
_ARCHIVE = "an archive; the files in it are listed under its name"


@dataclass(frozen=True)
class Taken:
    """A delivery that is in the book: `order` None where it was put aside, and why.

    `refused` is what of archives could not be taken out, a line each; `gone` what came of it.
    """

    delivery: int
    new: bool
    order: str | None
    why: str
    refused: tuple[str, ...]
    gone: tuple[Gone, ...]


def deliver(
    book: Book,
    paths: Sequence[Path],
    order: str | None,
    who: str,
    ways: Ways,
    *,
    sender: str | None = None,
    way: str = "by command",
    due: date | None = None,
    told: Mapping[str, str] | None = None,
    key: Key = lambda path: None,
) -> Taken:
    """Take a delivery in, examine its order, and return what came of it.

    `order` is a number or an order file, which is entered. `key` gives what a file in a watched
    folder is known by. Raises UsageError, BookError, OrderError or SpecError before anything is
    recorded; from then on nothing is lost.
    """
    number = None if order is None else _number(book, order, who, due)
    taken = take_in(book, _walked(paths), number, who, sender=sender, way=way, key=key)
    if taken.order is None:
        return taken
    return replace(taken, gone=carry_on(book, who, ways, order=taken.order, told=told))


def take_in(
    book: Book,
    given: Iterable[Delivered],
    number: str | None,
    who: str,
    *,
    sender: str | None = None,
    way: str = "by command",
    key: Key = lambda path: None,
) -> Taken:
    """Take files in, archives unpacked, for an order or for the one that they name; nothing is
    matched or examined yet. Raises BookError where there is no file."""
    with aside() as kept:
        folder = kept.folder()
        came, refused = _kept(book, given, folder, key)
    why = ""
    if number is None:
        number, why = _looked_for(book, came)
    delivery, new = book.arrive(came, number, who, sender=sender, way=way)
    return Taken(delivery, new, number, why, refused, ())


def _number(book: Book, order: str, who: str, due: date | None) -> str:
    if order.lower().endswith(".toml"):
        path = Path(order)
        if not path.is_file():
            raise UsageError(f"{path}: there is no such order file")
        return enter_order(book, read_order(path), who, due)
    book.story(order)
    return order


def _walked(paths: Iterable[Path]) -> Iterator[Delivered]:
    """Yield files, those of folders with their place in it as a name; litter is left out."""
    for path in paths:
        if not path.exists():
            raise UsageError(f"{path}: there is no such file")
        if not path.is_dir():
            yield Delivered(_shown(path.name), path)
            continue
        try:
            inside = sorted(one for one in path.rglob("*") if one.is_file())
        except OSError as error:
            raise UsageError(f"{path}: cannot be read ({error.strerror})") from None
        for one in inside:
            place = one.relative_to(path)
            if not any(step in _LITTER or step.startswith(".") for step in place.parts):
                yield Delivered(_shown(place.as_posix()), one)


def _kept(
    book: Book, given: Iterable[Delivered], folder: Path, key: Key
) -> tuple[list[Came], tuple[str, ...]]:
    """Keep every file as it came, archives and what is in them."""
    came: list[Came] = []
    refused: list[str] = []
    for number, one in enumerate(given):
        where = str(one.path)
        if not looks_like_zip(one.path):
            came.append(Came(one.name, book.keep(one.path), key(one.path), where, _paper(one.name)))
            continue
        own = folder / str(number)
        own.mkdir()
        unpacked = unpack([one], own)
        lines = [str(line) for line in unpacked.refused]
        refused += lines
        note = "; ".join([_ARCHIVE, *lines])
        came.append(Came(one.name, book.keep(one.path), key(one.path), where, note))
        came += [
            Came(inner.name, book.keep(inner.path), note=_paper(inner.name))
            for inner in unpacked.files
        ]
    if not came:
        raise BookError("there is no file in this delivery; nothing was recorded")
    return came, tuple(refused)


def _paper(name: str) -> str:
    return _PAPER if PurePosixPath(name).suffix.lower() in _PAPERS else ""


def _looked_for(book: Book, came: Sequence[Came]) -> tuple[str | None, str]:
    """Return the one order that a delivery speaks of, else why there is none."""
    found = order_of([file.name for file in came], book.orders())
    if len(found) == 1:
        return found[0], "its number stands in the names"
    if found:
        several = ", ".join(found[:6])
        return None, f"it may be for {several}; say which with --order"
    return None, "no order in the book is named in it; say which with --order"


def _shown(name: str) -> str:
    return name.encode("utf-8", "replace").decode("utf-8")
