"""Which part of its order each file of a delivery is, from what the book knows of both."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from prepcheck.book.deliveries import Place, Unplaced
from prepcheck.book.records import Delivery, FileLine, OrderLine, PartLine, Story
from prepcheck.errors import BookError
from prepcheck.faults import hint
from prepcheck.order import OrderPart
from prepcheck.words import listed


@dataclass(frozen=True, slots=True)
class Matched:
    """What the files of a delivery were taken as, and those that were not."""

    placed: tuple[Place, ...]
    unplaced: tuple[Unplaced, ...]


_WORD = re.compile(r"[^\W_]+")
Matcher = Callable[[Story, Delivery], Matched]
"""Matches what is left when told placings and known bytes have been taken out."""


def match(story: Story, delivery: Delivery, told: Mapping[str, str], matcher: Matcher) -> Matched:
    """Return what each file is; `told` maps names of files to names of parts and comes first.

    The very bytes that a part has now are that part again. Raises BookError for a name in `told`
    that is not there.
    """
    placed = list(_told(story, delivery, told))
    taken = {one.file for one in placed}
    parts = {one.part for one in placed}
    for file in delivery.files:
        if file.id in taken or (file.note and not file.asked):
            continue
        named = _named(story).get(_plain(file.name), [])
        same = [p for p in story.parts if p.digest == file.digest and p.name not in parts]
        if named and all(part not in same for part in named):
            continue  # another part's art under this part's name: its checks will tell
        for part in same:
            why = f"the very bytes of round {part.round}"
            placed.append(Place(file.id, part.name, why, part.page))
            taken.add(file.id)
            parts.add(part.name)
    left = tuple(f for f in delivery.files if f.id not in taken and (f.asked or not f.note))
    if not left:
        return Matched(tuple(placed), ())
    rest = Delivery(
        delivery.id, delivery.order, delivery.round, delivery.state, delivery.came_at,
        delivery.sender, delivery.way, left,
    )  # fmt: skip
    found = matcher(_without(story, parts), rest)
    return Matched((*placed, *found.placed), found.unplaced)


def _told(story: Story, delivery: Delivery, told: Mapping[str, str]) -> list[Place]:
    files = {file.name: file for file in delivery.files}
    files |= {PurePosixPath(file.name).name: file for file in delivery.files}
    names = [part.name for part in story.parts]
    lines = [
        f"--place {name}={part}: the delivery has no file {name!r}; {hint(name, files)}"
        for name, part in told.items()
        if name not in files
    ]
    lines += [
        f"--place {name}={part}: the order has no part {part!r}; {hint(part, names)}"
        for name, part in told.items()
        if part not in names
    ]
    if lines:
        raise BookError(*lines)
    return [Place(files[name].id, part, "said by hand") for name, part in told.items()]


def _without(story: Story, parts: set[str]) -> Story:
    from dataclasses import replace

    return replace(story, parts=tuple(part for part in story.parts if part.name not in parts))


def by_name(story: Story, delivery: Delivery) -> Matched:
    """Match by names alone: as ordered, or as the part's last file was called."""
    wanted = _named(story)
    placed: list[Place] = []
    unplaced: list[Unplaced] = []
    for file in delivery.files:
        found = wanted.get(_plain(file.name), [])
        if len(found) == 1:
            part = found[0]
            as_last = part.file is not None and _plain(part.file) == _plain(file.name)
            why = f"named like round {part.round}'s" if as_last else "named as in the order"
            placed.append(Place(file.id, part.name, why))
        else:
            unplaced.append(_not_known(file, found))
    return Matched(tuple(placed), tuple(unplaced))


def _named(story: Story) -> dict[str, list[PartLine]]:
    """Return the parts that go by a file's name: as ordered, or as their last file was called."""
    wanted: dict[str, list[PartLine]] = defaultdict(list)
    for part in story.parts:
        for name in {_plain(_ordered(part)), _plain(part.file or "")} - {""}:
            wanted[name].append(part)
    return wanted


def _not_known(file: FileLine, found: Sequence[PartLine]) -> Unplaced:
    name = PurePosixPath(file.name).name
    if found:
        parts = listed((repr(part.name) for part in found), "or")
        return Unplaced(file.id, f"may be {parts}; say which with --place '{name}=PART'", True)
    return Unplaced(
        file.id, f"fits no part by its name; say which with --place '{name}=PART'", True
    )


def _ordered(part: PartLine) -> str:
    import json

    return str(json.loads(part.data).get("file") or "")


def ordered_part(part: PartLine) -> dict[str, object]:
    """Return a part's own table as ordered."""
    import json

    table: dict[str, object] = json.loads(part.data)
    return table


def _plain(name: str) -> str:
    return PurePosixPath(name.replace("\\", "/")).name.casefold()


def order_of(texts: Sequence[str], board: Sequence[OrderLine]) -> tuple[str, ...]:
    """Return the numbers of the orders whose number or catalogue number stands in the texts.

    Order numbers come first: where one is found, catalogue numbers are not looked at, since two
    pressings of one record share theirs.
    """
    words = " ".join(_bare(text) for text in texts)
    for key in ("number", "catalogue"):
        found = [line.number for line in board if _stands_in(_bare(getattr(line, key)), words)]
        if found:
            return tuple(dict.fromkeys(found))
    return ()


def _bare(text: str) -> str:
    """Return text as words of letters and digits with single spaces, both ends included."""
    return f" {' '.join(_WORD.findall(text.casefold()))} "


def _stands_in(needle: str, words: str) -> bool:
    """Say whether a number stands in the words, whatever lies between its letters and digits."""
    if len(needle.strip()) < 3:
        return False
    tokens = needle.split()
    gap = r"\W*"
    pattern = rf"(?<![^\W_]){gap.join(map(re.escape, tokens))}(?![^\W_])"
    return re.search(pattern, words) is not None


def part_of(line: PartLine, file: str | None) -> OrderPart:
    """Return a part as ordered, with the file it has now, if any."""
    table = ordered_part(line)
    return OrderPart.model_validate({**table, "file": file, **_page(line)})


def _page(line: PartLine) -> dict[str, int]:
    return {} if line.page is None else {"page": line.page}
