"""Counts what transparency groups paint (ISO 32000-2, 11.6.6), while content is followed.

A renderer paints each group apart, on pixels of its own: those that hold all it paints.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

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
    """The groups of one walk."""

    painted_mm2: float = 0.0
    nested_mm2: float = 0.0
    _open: list[_Open] = field(default_factory=list)

    @property
    def found(self) -> Grouped:
        return Grouped(self.painted_mm2, self.nested_mm2)

    @contextmanager
    def inside(self, findings: Findings) -> Iterator[None]:
        """Follow a group whose items are added to findings."""
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
            self.painted_mm2 += area
            self.nested_mm2 = max(self.nested_mm2, held)
            if outer is not None:
                outer.inner_mm2 = max(outer.inner_mm2, held)
                outer.add(own.box)
                outer.counted = _counts(outer.findings)


def _counts(findings: Findings) -> _Counts:
    return tuple(
        (len(pile.paths), len(pile.images), len(pile.texts), len(pile.shadings))
        for pile in (findings.shown, findings.hidden)
    )


def _boxes_since(findings: Findings, counted: _Counts) -> Iterator[Box | None]:
    for pile, (paths, images, texts, shadings) in zip(
        (findings.shown, findings.hidden), counted, strict=True
    ):
        yield from (item.box for item in pile.paths[paths:])
        yield from (item.visible for item in pile.images[images:])
        yield from (item.box for item in pile.texts[texts:])
        yield from (item.box for item in pile.shadings[shadings:])
