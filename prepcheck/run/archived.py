"""What archives hold, as those that open them tell it: art, and parts of an order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from pathlib import Path

from prepcheck.findings import Finding, PartResult
from prepcheck.frozen import dataclass
from prepcheck.order import Order, OrderPart, part_path
from prepcheck.spec.model import Spec

Wish = tuple[OrderPart, tuple[Spec, ...]]
"""A part and what it may be."""


@dataclass(frozen=True)
class Arrived:
    """A file that is a part, however it is named: where it lies, the name it is told by, and the
    page (1-based) where it holds several parts."""

    path: Path
    name: str
    page: int | None = None


@dataclass(frozen=True)
class OpenedArchive:
    """What came out of an archive: files under the names they are told by, what could not be
    taken out (name and reason), and what else is to be told."""

    files: tuple[Arrived, ...]
    refused: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()


Unzip = Callable[[Path], OpenedArchive | None]
"""Opens a file that is an archive; None for any other file."""


@dataclass(frozen=True)
class Inside:
    """What archives hold that an order names for parts: the files that are those parts, by the
    parts' names; what stands for parts of which none of the files is one; what is asked of the
    order; files that are no part; and what is to be told, a line each."""

    arrived: Mapping[str, Arrived] = field(default_factory=dict)
    standing: Mapping[str, PartResult] = field(default_factory=dict)
    asked: tuple[Finding, ...] = ()
    spare: tuple[str, ...] = ()
    told: tuple[str, ...] = ()

    def with_more(self, other: Inside) -> Inside:
        """Return both together."""
        return Inside(
            {**self.arrived, **other.arrived},
            {**self.standing, **other.standing},
            (*self.asked, *other.asked),
            (*self.spare, *other.spare),
            (*self.told, *other.told),
        )


LookInside = Callable[[Path, Order, Sequence[Wish]], Inside | None]
"""Looks for parts in a file that an order names for them; None where that is no archive."""


def no_archive(path: Path, order: Order, wishes: Sequence[Wish]) -> Inside | None:
    """Look into nothing: an archive is then a file like any other, and no art."""
    return None


def inside_archives(order: Order, folder: Path, wishes: Sequence[Wish], look: LookInside) -> Inside:
    """Return what the archives hold that an order names for some of its parts."""
    files: dict[Path, list[Wish]] = {}
    for wish in wishes:
        path = part_path(wish[0], folder)
        if path is not None:
            files.setdefault(path, []).append(wish)
    found = Inside()
    for path, own in files.items():
        inside = look(path, order, own)
        found = found if inside is None else found.with_more(inside)
    return found
