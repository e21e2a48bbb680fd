"""Which part of its order each file is: intake's matcher, with what the book knows besides."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path, PurePosixPath

from prepcheck.book.book import Book
from prepcheck.book.deliveries import TakenAs, Unplaced
from prepcheck.book.looking import Look, shipped_specs
from prepcheck.book.records import Delivery, FileLine, OrderLine, PartLine, Story
from prepcheck.errors import BookError
from prepcheck.faults import hint
from prepcheck.intake import match as intake
from prepcheck.intake.aside import aside
from prepcheck.intake.evidence import NAMED_AS_BEFORE
from prepcheck.intake.look import Seen
from prepcheck.intake.match import ORDERED, Match
from prepcheck.intake.unpack import Delivered
from prepcheck.intake.wanted import Earlier, Wanted
from prepcheck.order import Order, OrderPart
from prepcheck.spec.load import load_spec
from prepcheck.spec.model import Spec
from prepcheck.tables import read_table
from prepcheck.words import listed


@dataclass(frozen=True, slots=True)
class MatchedFiles:
    """What the files of a delivery were taken as, and those that were not."""

    placed: tuple[TakenAs, ...]
    unplaced: tuple[Unplaced, ...]


BY_HAND = "said by hand"
_BY_NAME_ALONE = ((NAMED_AS_BEFORE,), (ORDERED,))
_WORD = re.compile(r"[^\W_]+")


def match(
    book: Book, story: Story, delivery: Delivery, told: Mapping[str, str], look: Look
) -> MatchedFiles:
    """Return what each file of a delivery is, with the reasons, and what is to be asked.

    `told` maps names of files ('label.pdf', or 'labels.pdf#2' for a page) to names of parts and
    comes first. Besides what tells in the files themselves counts what was sent before: the parts'
    files of earlier rounds, and what these very files were in other orders of the same record. A
    file that speaks of another order in the book is no part of this one until somebody says so.
    Raises BookError for a name in `told` that is not there.
    """
    open_ones = [file for file in delivery.files if file.asked or not file.note]
    said = _told(story, delivery, told)
    open_ones += [file for file in delivery.files if file not in open_ones and _named(file, said)]
    if not open_ones:
        return MatchedFiles((), ())
    named = {file.id: f"{file.id}/{file.name}" for file in open_ones}
    by_name = {named[file.id]: file for file in open_ones}
    with aside() as kept:
        order, own = as_ordered(book, story, kept.folder())
        wanted = _wanted(book, story, order, own)
        shipped = shipped_specs()
        specs = (*shipped, *{s.name: s for s in own.values()}.values())
        seen = _seen(look, [(named[f.id], book.path(f.digest), f.digest) for f in open_ones], specs)
        others = [line for line in book.orders() if line.number != story.line.number]
        foreign = {
            one.name: why
            for one in seen
            if not _named(by_name[one.name], said)
            and (why := _speaks_of_another(story, one, by_name[one.name], others))
        }
        left = [one for one in seen if one.name not in foreign]
        tells = {name.replace(file, named[i], 1): part for name, (file, i, part) in said.items()}
        found = intake.match(order, wanted, left, tells)
        by_name_alone = any(one.reasons in _BY_NAME_ALONE for one in found.matches)
        if found.questions or found.loose or by_name_alone:
            wanted = _with_earlier(book, story, wanted, look, specs)
            found = intake.match(order, wanted, left, tells)
    placed = tuple(_placed(one, by_name[one.file.name]) for one in found.matches)
    number = story.line.number
    unplaced = [_foreign(by_name[name], why, number) for name, why in foreign.items()]
    unplaced += [
        left_over(file, found, number) for file in by_name.items() if _is_open(file[0], found)
    ]
    return MatchedFiles(placed, tuple(unplaced))


def said_by_hand(story: Story, delivery: Delivery, told: Mapping[str, str]) -> tuple[TakenAs, ...]:
    """Return what was said of a delivery's files (as in `match`) as placings. Raises BookError."""
    return tuple(
        TakenAs(number, part, BY_HAND, int(name.rpartition("#")[2]) if name != file else None)
        for name, (file, number, part) in _told(story, delivery, told).items()
    )


@dataclass(frozen=True, slots=True)
class Placings:
    """What was said by hand: placings by delivery, and files that are for no part."""

    placed: dict[int, tuple[TakenAs, ...]]
    left: tuple[int, ...]


def placings_of(story: Story, said: Sequence[str]) -> Placings:
    """Return what 'FILE=PART', 'FILE#2=PART' or 'FILE=' say of an order's files, each of the latest
    round that has one of that name. Raises BookError."""
    told: dict[int, dict[str, str]] = {}
    left: list[int] = []
    for one in said:
        name, _, part = one.rpartition("=")
        delivery, file = _latest(story, name) if name else (None, None)
        if delivery is None or file is None or not (part or "#" not in name or name == file.name):
            last = story.deliveries[-1:]
            known = listed([f.name for f in last[0].files]) if last else "none has come"
            raise BookError(f"{one}: no such file came for this order; its latest: {known}")
        if part:
            told.setdefault(delivery.id, {})[name] = part
        else:
            left.append(file.id)
    deliveries = {delivery.id: delivery for delivery in story.deliveries}
    placed = {id_: said_by_hand(story, deliveries[id_], own) for id_, own in told.items()}
    return Placings(placed, tuple(left))


def _latest(story: Story, name: str) -> tuple[Delivery | None, FileLine | None]:
    """Return the file of this name, with its place in an archive or without, that came last."""
    for wanted in (name, name.rpartition("#")[0]):
        for delivery in reversed(story.deliveries):
            for file in delivery.files:
                if wanted and wanted in (file.name, PurePosixPath(file.name).name):
                    return delivery, file
    return None, None


def as_ordered(book: Book, story: Story, folder: Path) -> tuple[Order, dict[str, Spec]]:
    """Return an order as it was entered, and the specs of its own by the parts' names.

    `folder` is a place for passing files.
    """
    parts, own = [], {}
    for index, line in enumerate(story.parts):
        part = read_table(OrderPart, {**json.loads(line.data), "name": line.name})
        if line.spec_digest is not None:
            path = folder / f"own-{index}.toml"
            path.write_bytes(book.store.read(line.spec_digest))
            own[line.name] = load_spec(path)
        parts.append(part)
    head = json.loads(story.head)
    return read_table(Order, {"order": head, "part": tuple(parts)}), own


def _wanted(book: Book, story: Story, order: Order, own: Mapping[str, Spec]) -> list[Wanted]:
    load = cache(load_spec)
    fitting = tuple(s for s in shipped_specs() if s.format in (None, order.order.format))
    alike = book.of_other_orders(story.line.number)
    found = []
    for line, part in zip(story.parts, order.part, strict=True):
        if line.name in own:
            specs: tuple[Spec, ...] = (own[line.name],)
        else:
            specs = fitting if part.spec is None else (load(part.spec),)
        before = None
        if line.digest is not None and line.file is not None:
            before = Earlier(line.digest, line.file, None, line.page)
        same = tuple(
            (digest, number) for digest, number, name, side in alike
            if name == line.name or (side and side == line.side)
        )  # fmt: skip
        found.append(Wanted(part, specs, before, same))
    return found


def _with_earlier(
    book: Book, story: Story, wanted: Sequence[Wanted], look: Look, specs: tuple[Spec, ...]
) -> list[Wanted]:
    """Return what is wanted with what was seen in each part's file of an earlier round."""
    known = [line for line in story.parts if line.digest is not None and line.file is not None]
    files = [(str(line.file), book.path(str(line.digest)), str(line.digest)) for line in known]
    seen = dict(zip((line.name for line in known), _seen(look, files, specs), strict=True))
    return [
        one if one.earlier is None or one.part.name not in seen
        else replace(one, earlier=replace(one.earlier, seen=seen[one.part.name]))
        for one in wanted
    ]  # fmt: skip


def _seen(
    look: Look, files: Sequence[tuple[str, Path, str]], specs: tuple[Spec, ...]
) -> list[Seen]:
    """Return what is seen in kept files, known by their digests even where nothing is."""
    looked = look([Delivered(name, path) for name, path, _ in files], specs) if files else []
    return [
        replace(one, sha256=digest) for one, (_, _, digest) in zip(looked, files, strict=True)
    ]  # fmt: skip


_Said = Mapping[str, tuple[str, int, str]]


def _told(story: Story, delivery: Delivery, told: Mapping[str, str]) -> _Said:
    """Return of which file (the name it was told by, and its id) which part was said, by what was
    said."""
    files = {file.name: file for file in delivery.files}
    files |= {PurePosixPath(file.name).name: file for file in delivery.files}
    names = [part.name for part in story.parts]
    lines: list[str] = []
    found: dict[str, tuple[str, int, str]] = {}
    for name, part in told.items():
        file, _, page = (name, "", "1") if name in files else name.rpartition("#")
        if file not in files or not page.isdecimal() or not int(page):
            lines.append(
                f"--place {name}={part}: the delivery has no file {name!r}; {hint(name, files)}"
            )
        elif part not in names:
            lines.append(
                f"--place {name}={part}: the order has no part {part!r}; {hint(part, names)}"
            )
        else:
            found[name] = file, files[file].id, part
    if lines:
        raise BookError(*lines)
    return found


def _named(file: FileLine, said: _Said) -> bool:
    return any(number == file.id for _, number, _ in said.values())


def _placed(one: Match, file: FileLine) -> TakenAs:
    why = BY_HAND if one.reasons == ("you said so",) else "; ".join(one.reasons)
    return TakenAs(file.id, one.part, why, one.page)


def _is_open(name: str, found: intake.Matched) -> bool:
    return any(q.file.name == name for q in found.questions) or any(
        one.name == name for one, _ in found.loose
    )


def left_over(named: tuple[str, FileLine], found: intake.Matched, number: str) -> Unplaced:
    """Return what of a file is no part, and what it may be: all of it at once, page by page."""
    name, file = named
    said = []
    asks = [question for question in found.questions if question.file.name == name]
    for one in asks:
        page = "" if one.page is None else f"page {one.page} "
        said.append(f"{page}{one.said}")
    loose = [(one, page) for one, page in found.loose if one.name == name]
    pages = [str(page) for _, page in loose if page is not None]
    if pages:
        word, fit = ("page", "fits") if len(pages) == 1 else ("pages", "fit")
        said.append(f"{word} {listed(pages)} {fit} no part")
    elif loose:
        said.append(_loose(loose[0][0]))
    first = asks[0].page if asks else loose[0][1]
    right = [one for one in found.matches if one.file.name == name and one.page is not None]
    rest = ""
    if right and not asks:
        own = f"{PurePosixPath(file.name).name}#{right[0].page}={right[0].part}"
        rest = f", or that no other page is one with --place '{own}'"
    if not (rest or asks):
        rest = _is_none(file, number)
    return Unplaced(file.id, f"{'; '.join(said)}; {_ask(file, first)}{rest}", True)


def _loose(one: Seen) -> str:
    if one.why:
        return "cannot be looked into, and its name fits no part"
    sizes = [f"{w:.0f} × {h:.0f} mm" for w, h in (p.size_mm for p in one.pages[:1])]
    if not sizes:
        return "fits no part"
    return f"fits no part by its size, {sizes[0]}, or what it says or is called"


def _foreign(file: FileLine, why: str, number: str) -> Unplaced:
    return Unplaced(file.id, f"{why}; {_ask(file, None)}{_is_none(file, number)}", True)


def _is_none(file: FileLine, number: str) -> str:
    return f", or that it is none with `prepcheck book place {number} '{file.name}='`"


def _ask(file: FileLine, page: int | None) -> str:
    name = PurePosixPath(file.name).name + ("" if page is None else f"#{page}")
    return f"say which with --place '{name}=PART'"


def _speaks_of_another(story: Story, one: Seen, file: FileLine, others: Sequence[OrderLine]) -> str:
    """Return of which other order a file speaks, where it does not speak of this one."""
    texts = [PurePosixPath(file.name).stem, *(w.text for page in one.pages for w in page.words)]
    if order_of(texts, [story.line]):
        return ""
    number, *_ = (*order_of(texts, others), "")
    if not number:
        return ""
    line = next(line for line in others if line.number == number)
    return f"speaks of {line.catalogue}, which is order {number}"


def order_of(texts: Sequence[str], board: Sequence[OrderLine]) -> tuple[str, ...]:
    """Return the numbers of the orders whose number or catalogue number stands in the texts.

    Order numbers come first: where one is found, catalogue numbers are not looked at, since two
    pressings of one record share theirs.
    """
    words = " ".join(_bare(text) for text in texts)
    joined = words.replace(" ", "")
    for key in ("number", "catalogue"):
        found = [
            line.number for line in board if _stands_in(_bare(getattr(line, key)), words, joined)
        ]
        if found:
            return tuple(dict.fromkeys(found))
    return ()


def _bare(text: str) -> str:
    """Return text as words of letters and digits with single spaces, both ends included."""
    return f" {' '.join(_WORD.findall(text.casefold()))} "


def _stands_in(needle: str, words: str, joined: str) -> bool:
    """Say whether a number stands in the words, whatever lies between its letters and digits.

    `joined` are the words without gaps, by which most numbers are told at once not to be there.
    """
    tokens = needle.split()
    whole = "".join(tokens)
    if len(whole) < (5 if whole.isdecimal() else 3) or whole not in joined:
        return False
    gap = r"\W*"
    pattern = rf"(?<![^\W_]){gap.join(map(re.escape, tokens))}(?![^\W_])"
    return re.search(pattern, words) is not None


def part_of(line: PartLine, file: str | None) -> OrderPart:
    """Return a part as ordered, with the file it has now, if any."""
    table = json.loads(line.data)
    return read_table(OrderPart, {**table, "file": file, **_page(line)})


def _page(line: PartLine) -> dict[str, int]:
    return {} if line.page is None else {"page": line.page}
