"""Counts what is painted apart, while content is followed: transparency groups (ISO 32000-2,
11.6.6), and objects under a blend mode (11.3.5) or a soft mask (11.5).

A renderer paints each on pixels of its own: those that hold all it paints.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Protocol

from prepcheck.art.model import Grouped
from prepcheck.art.pdf.content.collect import Findings
from prepcheck.geometry import Box

_Counts = tuple[tuple[int, int, int, int], ...]


@dataclass(slots=True)
class _Open:
    """A group under way: where its items are gathered, how many of each kind there were when it
    was last counted, the box round those that it painted, and the most that is held inside it."""

    findings: Findings
    counted: _Counts
    box: Box | None = None
    inner_mm2: float = 0.0

    def take(self) -> None:
        """Count what came since."""
        for box in _boxes_since(self.findings, self.counted):
            self.add(box)
        self.counted = _counts(self.findings)

    def add(self, box: Box | None) -> None:
        if box is not None:
            self.box = box if self.box is None else self.box.union(box)


@dataclass(slots=True)
class Groups:
    """The groups and shadings of one walk."""

    painted_mm2: float = 0.0
    nested_mm2: float = 0.0
    shaded_mm2: float = 0.0
    _open: list[_Open] = field(default_factory=list)

    @property
    def found(self) -> Grouped:
        return Grouped(self.painted_mm2, self.nested_mm2, self.shaded_mm2)

    @contextmanager
    def inside(self, findings: Findings, repaints: int = 0) -> Iterator[None]:
        """Follow a group whose items are added to findings, and whose pixels are painted so often
        besides."""
        outer = self._open[-1] if self._open else None
        if outer is not None:
            outer.take()
        own = _Open(findings, _counts(findings))
        self._open.append(own)
        try:
            yield
        finally:
            self._open.pop()
            own.take()
            area = 0.0 if own.box is None else own.box.area
            held = area + own.inner_mm2
            self.painted_mm2 += area * (1 + repaints)
            self.nested_mm2 = max(self.nested_mm2, held)
            if outer is not None:
                outer.inner_mm2 = max(outer.inner_mm2, held)
                outer.add(own.box)
                outer.counted = _counts(outer.findings)


class Followed(Protocol):
    """What a walk has of both."""

    findings: Findings
    groups: Groups


class Apart:
    """The objects of one content stream that are painted apart, each by itself."""

    def __init__(self, walk: Followed, settle: Callable[[], None], outside: int) -> None:
        """`settle` places what waits to be; `outside` is how often all of the stream is painted
        besides, which is counted where it is drawn."""
        self._walk, self._settle, self._outside = walk, settle, outside
        self._repaints = outside
        self._since: _Counts = ()

    def at(self, repaints: int) -> None:
        """Take note that what comes is painted so often besides."""
        if repaints == self._repaints:
            return
        self._settle()
        walk, often = self._walk, self._repaints - self._outside
        if often > 0:
            boxes = _boxes_since(walk.findings, self._since)
            walk.groups.painted_mm2 += often * sum(box.area for box in boxes if box is not None)
        self._repaints, self._since = repaints, _counts(walk.findings)


def _counts(findings: Findings) -> _Counts:
    return tuple(
        (len(pile.paths), len(pile.images), len(pile.texts), len(pile.shadings))
        for pile in (findings.shown, findings.hidden)
    )


def _boxes_since(findings: Findings, counted: _Counts) -> Iterator[Box | None]:
    for pile, (paths, images, texts, shadings) in zip(
        (findings.shown, findings.hidden), counted, strict=True
    ):
        yield from pile.paths.boxes(paths)
        yield from (item.visible for item in pile.images[images:])
        yield from pile.texts.boxes(texts)
        yield from (item.box for item in pile.shadings[shadings:])
