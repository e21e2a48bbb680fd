"""What was named on the command line, or lay in an inbox, as a delivery: folders walked, archives
unpacked, its order looked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path, PurePosixPath

from prepcheck.book.book import Book
from prepcheck.book.deliveries import Came
from prepcheck.book.entering import ReadOrder, enter_order, read_order
from prepcheck.book.looking import Look, each_once, shipped_specs
from prepcheck.book.matching import order_of, said_by_hand
from prepcheck.book.records import Delivery
from prepcheck.book.rounds import Gone, Ways, carry_on
from prepcheck.book.store import Kept
from prepcheck.errors import BookError, UsageError
from prepcheck.faults import hint
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
    together: bool = True,
) -> tuple[Taken, ...]:
    """Take a delivery in, examine its order, and return what came of it.

    `order` is a number or an order file, which is entered. Without it orders are looked for in the
    files' names and in their type, and what is for several is a delivery for each. `key` gives
    what a file in a watched folder is known by; files that do not belong `together` speak each for
    themselves. Raises UsageError, BookError, OrderError or
    SpecError before anything is recorded; from then on nothing is lost.
    """
    look = each_once(ways.look)
    given = walked(paths)
    number = None if order is None else _number(book, order, who, due)
    if number is not None and told:
        _refuse_mistold(book, number, given, told)
    arrived = take_in(
        book, given, number, who, sender=sender, way=way, key=key, look=look, together=together,
    )  # fmt: skip
    ways = replace(ways, look=look)
    return tuple(
        one if one.order is None else _carried_on(book, one, who, ways, told or {}, arrived)
        for one in arrived
    )


def _carried_on(
    book: Book,
    taken: Taken,
    who: str,
    ways: Ways,
    told: Mapping[str, str],
    all_taken: Sequence[Taken],
) -> Taken:
    """Match and examine what arrived for an order; what was `told` of its files comes first."""
    assert taken.order is not None
    delivery = book.delivery(taken.delivery)
    own = told if len(all_taken) == 1 else _told_of(told, delivery)
    if own and not taken.new and delivery.state != "arrived":
        # It was asked about when it came, and here is the answer.
        by_hand = said_by_hand(book.story(taken.order), delivery, own)
        book.place(taken.delivery, by_hand, [], who, by_hand=True)
    return replace(taken, gone=carry_on(book, who, ways, order=taken.order, told=own))


def take_in(
    book: Book,
    given: Iterable[Delivered],
    number: str | None,
    who: str,
    *,
    sender: str | None = None,
    way: str = "by command",
    key: Key = lambda path: None,
    look: Look | None = None,
    together: bool = True,
    ours: bool = False,
) -> tuple[Taken, ...]:
    """Take files in, archives unpacked, for an order or for those that they name; nothing is
    matched or examined yet. Orders are looked for in names, and with `look` in the type of files
    whose names tell none. Files that are `ours` are moved, not copied. Raises BookError where there
    is no file."""
    with aside() as kept:
        folder = kept.folder()
        came, refused = _kept(book, given, folder, key, book.take if ours else book.keep)
    groups = [_Group(number, "", came)]
    if number is None:
        groups = _by_order(book, came, look, together)
    arrived = book.arrive_each(
        [(one.order, one.files) for one in groups], who, sender=sender, way=way
    )
    return tuple(
        Taken(delivery, new, one.order, one.why, refused if not index else (), ())
        for index, (one, (delivery, new)) in enumerate(zip(groups, arrived, strict=True))
    )


@dataclass(frozen=True)
class _Group:
    """Files of one order, or of none, and why."""

    order: str | None
    why: str
    files: Sequence[Came]


def is_order_file(order: str) -> bool:
    """Say whether what an order was named by is a file, not its number."""
    return order.lower().endswith(".toml")


def refuse_unfit(paths: Sequence[Path], order: str | None) -> None:
    """Raise UsageError, BookError, OrderError or SpecError for what `deliver` would refuse without
    looking into the book: so that none need be made for it."""
    walked(paths)
    if order is not None and is_order_file(order):
        _read(order)


def _number(book: Book, order: str, who: str, due: date | None) -> str:
    if is_order_file(order):
        return enter_order(book, _read(order), who, due)
    book.story(order)
    return order


def _read(order: str) -> ReadOrder:
    path = Path(order)
    if not path.is_file():
        raise UsageError(f"{path}: there is no such order file")
    return read_order(path)


def _refuse_mistold(
    book: Book, number: str, given: Sequence[Delivered], told: Mapping[str, str]
) -> None:
    """Raise BookError for what was said of files or parts that there are not, while nothing is
    recorded yet. What archives hold is known once they are unpacked."""
    parts = [part.name for part in book.story(number).parts]
    lines = [
        f"--place {name}={part}: the order has no part {part!r}; {hint(part, parts)}"
        for name, part in told.items()
        if part not in parts
    ]
    if not any(looks_like_zip(one.path) for one in given):
        names = {PurePosixPath(one.name).name for one in given} | {one.name for one in given}
        lines += [
            f"--place {name}={part}: the delivery has no file {name!r}; {hint(name, names)}"
            for name, part in told.items()
            if name not in names and name.rpartition("#")[0] not in names
        ]
    if lines:
        raise BookError(*lines)


def walked(paths: Iterable[Path]) -> list[Delivered]:
    """Return the files that were named or lie in a folder that was; see `_walked`."""
    found = list(_walked(paths))
    if not found:
        raise BookError("there is no file in this delivery; nothing was recorded")
    return found


def _walked(paths: Iterable[Path]) -> Iterator[Delivered]:
    """Yield files, those of folders with their place in it as a name; litter is left out."""
    for path in paths:
        if not path.exists():
            raise UsageError(f"{path}: there is no such file")
        if path.is_file():
            yield Delivered(_shown(path.name), path)
            continue
        if not path.is_dir():
            raise UsageError(f"{path}: is neither a file nor a folder")
        try:
            inside = sorted(one for one in path.rglob("*") if one.is_file())
        except OSError as error:
            raise UsageError(f"{path}: cannot be read ({error.strerror})") from None
        for one in inside:
            place = one.relative_to(path)
            if not any(step in _LITTER or step.startswith(".") for step in place.parts):
                yield Delivered(_shown(place.as_posix()), one)


def _kept(
    book: Book,
    given: Iterable[Delivered],
    folder: Path,
    key: Key,
    keep: Callable[[Path], Kept],
) -> tuple[list[Came], tuple[str, ...]]:
    """Keep every file as it came, archives and what is in them."""
    came: list[Came] = []
    refused: list[str] = []
    for number, one in enumerate(given):
        where, known_by = str(one.path), key(one.path)
        if not looks_like_zip(one.path):
            came.append(Came(one.name, keep(one.path), known_by, where, _paper(one.name)))
            continue
        own = folder / str(number)
        own.mkdir()
        unpacked = unpack([one], own)
        lines = [str(line) for line in unpacked.refused]
        refused += lines
        note = "; ".join([_ARCHIVE, *lines])
        came.append(Came(one.name, keep(one.path), known_by, where, note))
        came += [
            Came(inner.name, book.keep(inner.path), note=_paper(inner.name))
            for inner in unpacked.files
        ]
    if not came:
        raise BookError("there is no file in this delivery; nothing was recorded")
    return came, tuple(refused)


def _paper(name: str) -> str:
    return _PAPER if PurePosixPath(name).suffix.lower() in _PAPERS else ""


def _by_order(book: Book, came: Sequence[Came], look: Look | None, together: bool) -> list[_Group]:
    """Return files by the orders that they speak of, in their names or else in their type.

    What speaks of none goes with the rest where that is for one order and all came `together`;
    else it is put aside.
    """
    board = book.orders()
    arts = [file for file in came if not file.note]
    named = {id(file): order_of([file.name], board) for file in came}
    quiet = [file for file in arts if not named[id(file)]]
    if board and quiet and look is not None:
        files = [Delivered(file.name, book.path(file.kept.digest)) for file in quiet]
        for file, seen in zip(quiet, look(files, shipped_specs()), strict=True):
            words = [word.text for page in seen.pages for word in page.words]
            named[id(file)] = order_of(words, board)
    sure = dict.fromkeys(found[0] for found in named.values() if len(found) == 1)
    if not sure:
        several = dict.fromkeys(number for found in named.values() for number in found)
        why = (
            f"it may be for {', '.join([*several][:6])}; say which with --order"
            if several
            else "no order in the book is named in it; say which with --order"
        )
        return [_Group(None, why, came)]
    if len(sure) == 1 and (together or all(len(named[id(file)]) == 1 for file in arts)):
        (number,) = sure
        return [_Group(number, "its number stands in the names or in the type", came)]
    return _shared_out(came, named, list(sure))


def _shared_out(
    came: Sequence[Came], named: Mapping[int, tuple[str, ...]], orders: Sequence[str]
) -> list[_Group]:
    """Return files shared out among several orders; an archive goes with each that it has art for,
    and papers that name no order go with the first."""
    own: dict[str | None, list[Came]] = {number: [] for number in orders}
    own[None] = []
    for file in came:
        found = named[id(file)]
        if len(found) == 1:
            own[found[0]].append(file)
        elif not file.note:
            own[None].append(file)
    for file in (one for one in came if one.note and len(named[id(one)]) != 1):
        inside = [n for n in own if any(f.name.startswith(f"{file.name}/") for f in own[n])]
        for at, number in enumerate(inside or orders[:1]):
            # Where it lay is noted with the first alone.
            own[number].append(file if not at else replace(file, key=None, path=""))
    aside_why = "no order in the book is named in it; say which with --order"
    if len(orders) > 1:
        aside_why = f"it may be for {', '.join(orders[:6])}; say which with --order"
    why: dict[str | None, str] = {None: aside_why}
    return [
        _Group(number, why.get(number, "its number stands in the names or in the type"), files)
        for number, files in own.items()
        if files
    ]


def _told_of(told: Mapping[str, str], delivery: Delivery) -> dict[str, str]:
    """Return what was said of a delivery's files."""
    files = delivery.files
    names = {file.name for file in files} | {PurePosixPath(file.name).name for file in files}
    return {
        name: part for name, part in told.items()
        if name in names or name.rpartition("#")[0] in names
    }  # fmt: skip


def _shown(name: str) -> str:
    return name.encode("utf-8", "replace").decode("utf-8")
