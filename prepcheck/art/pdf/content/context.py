"""What all content streams of one walk share: findings, paints, fonts, layers, limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from typing import NamedTuple, Protocol

from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.limits import Demand, Limits
from prepcheck.art.model import Paint
from prepcheck.art.pdf.content.collect import Findings, Pile
from prepcheck.art.pdf.content.groups import Apart, Groups
from prepcheck.art.pdf.content.paints import Paints
from prepcheck.art.pdf.content.plain import Indices
from prepcheck.art.pdf.content.record import PaintPath, SetColour
from prepcheck.art.pdf.content.runs import PathRun, SettingColumns
from prepcheck.art.pdf.content.state import Extension, GroupMask, State, StateColour
from prepcheck.art.pdf.layers import LayerUse
from prepcheck.art.pdf.objects import object_number
from prepcheck.art.pdf.streams import BROKEN_OFF, whole_or_not
from prepcheck.art.pdf.tokens import Operation
from prepcheck.art.pdf.typeface import Font, read_font
from prepcheck.errors import ArtworkError, BudgetError, said_by
from prepcheck.geometry import Affine, Box

KEPT_BYTES = 64_000_000
"""Decoded form content kept for the next use of the same form."""


class LayerLookup(Protocol):
    """Tells the layer that an /OC entry or a property list belongs to."""

    def use(self, content: object) -> LayerUse: ...


class Listener(Protocol):
    """Is told of the operators of one content stream, once each has been followed."""

    heeded: frozenset[bytes]
    """The operators that it is told of."""

    def along_path(self, path: bytes, code: bytes) -> None:
        """Take note of path construction; `code` has one letter an operator."""

    def along_type(self, fonts: Sequence[bytes], state: State) -> bool:
        """Take note of plain type shown in a state, in fonts chosen by these operands; False where
        it must be told of each operator."""

    def follow(self, operation: Operation, state: State, fault: Exception | None) -> None:
        """Take note of an operation that led to a state; `fault` is why it could not."""

    def painting(self, operator: bytes, state: State) -> PaintPath | None:
        """Return what painting a path in a state comes to; None where it stands as it is."""

    def heed_extension(self, operation: Operation, state: State) -> bool:
        """Take note of a graphics state that a run sets, wherever it does; False where it must be
        told of each."""

    def set_colours(
        self, settings: SettingColumns, colours: Sequence[StateColour | None]
    ) -> list[SetColour | None]:
        """Return what the colour that each different setting of a run sets comes to, if it sets
        one. Whatever is raised leaves no trace."""

    def follow_run(
        self,
        run: PathRun,
        events: Sequence[SetColour | None],
        paintings: Sequence[PaintPath | None],
        which: Indices,
    ) -> None:
        """Take note of a run: what `set_colours` told of it, and the number of each path's
        `painting`."""

    def along(
        self, form: StreamObject, outer: State, inner: State, data: bytes
    ) -> AbstractContextManager[Listener | None]:
        """Give the listener of a form drawn in the state `outer`, which starts with `inner`."""

    def finish(self) -> None:
        """Take what is left of the stream."""


class Host(Protocol):
    """What forms, cells and glyphs need of the stream that draws them."""

    walk: Walk
    resources: DictionaryObject
    state: State
    base: Affine
    colourless: bool

    @property
    def layer(self) -> str | None: ...

    listener: Listener | None
    apart: Apart

    def child(
        self, resources: DictionaryObject, state: State, listener: Listener | None = None
    ) -> Host: ...
    def run(self, data: bytes) -> None: ...
    def fill_paint(self, place: Box | None) -> Paint: ...


class OnLayer(NamedTuple):
    """The layer that content stands on, and whether it is kept from printing."""

    name: str | None
    hidden: bool


class Cell(NamedTuple):
    """A tiling cell that has been walked, and the box painted with it so far."""

    findings: Findings
    place: Box


class Walk:
    """The shared side of one walk."""

    def __init__(
        self, layers: LayerLookup, limits: Limits, counted: Demand = Demand.OPERATORS
    ) -> None:
        """`counted` is what the operators followed count as."""
        self.layers, self.limits, self._counted = layers, limits, counted
        self.findings = Findings()
        self.paints = Paints(limits)
        self.groups = Groups()
        self.cells: dict[tuple[object, ...], Cell] = {}
        self.masks: dict[tuple[object, ...], GroupMask | None] = {}
        self.marked: list[OnLayer] = [OnLayer(None, False)]
        self._fonts: dict[int, tuple[Font, DictionaryObject]] = {}
        self._extensions: dict[int, Extension] = {}
        self._kept: dict[int, tuple[bytes, StreamObject]] = {}
        self._kept_bytes = 0
        self._open: list[int] = []
        self._unknown_seen = False

    @property
    def layer(self) -> OnLayer:
        return self.marked[-1]

    def pile(self, invisible: bool = False) -> Pile:
        """Return where items painted now belong."""
        hidden = invisible or self.marked[-1].hidden
        return self.findings.hidden if hidden else self.findings.shown

    def spend(self, steps: int) -> None:
        """Count operators and glyphs; raises BudgetError beyond the limit."""
        self.limits.spend(self._counted, steps)

    def mark(self, content: object | None) -> None:
        """Open marked content; `content` is its layer's object, None for any other tag."""
        outer = self.marked[-1]
        use = None if content is None else self.layers.use(content)
        if use is None or outer.hidden:
            self.marked.append(outer)
        else:
            self.marked.append(OnLayer(use.name or outer.name, not use.prints))

    @contextmanager
    def on_no_layer(self) -> Iterator[None]:
        """Follow content that may be drawn elsewhere too: for it, no layer is open."""
        outer, self.marked = self.marked, [OnLayer(None, False)]
        try:
            yield
        finally:
            self.marked = outer

    def unknown(self, operator: bytes) -> None:
        """Note the first operator that does not exist; more would say nothing new."""
        if not self._unknown_seen:
            self._unknown_seen = True
            word = operator[:12].decode("latin-1")
            self.findings.trouble(f"the content holds operators that do not exist, such as {word}")

    def fault(self, operator: bytes, error: Exception) -> None:
        """Note an operator that could not be followed."""
        reason = said_by(error)
        self.findings.trouble(f"operator {operator.decode('latin-1')} was left out: {reason}")

    @contextmanager
    def inside(self, stream: StreamObject, what: str) -> Iterator[bytes | None]:
        """Enter a form, cell or glyph; gives its content, or None where it may not be entered:
        drawn inside itself or not decodable, which is noted. Raises BudgetError for one too deep
        and for one too many."""
        identity = object_number(stream) or -id(stream)
        if identity in self._open:
            self.findings.trouble(f"{what} is drawn inside itself; it was left out there")
            yield None
            return
        self.limits.hold(Demand.DEPTH, len(self._open) + 1)
        self.limits.spend(Demand.FORMS, 1)
        data = self._content(stream, identity, what)
        self._open.append(identity)
        marks = len(self.marked)
        try:
            yield data
        finally:
            self._open.pop()
            del self.marked[marks:]

    def _content(self, stream: StreamObject, identity: int, what: str) -> bytes | None:
        if identity in self._kept:
            return self._kept[identity][0]
        try:
            data, _, whole = whole_or_not(stream, self.limits)
        except BudgetError:
            raise
        except ArtworkError as error:
            self.findings.trouble(f"{what} was left out: {error}")
            return None
        if not whole:
            self.findings.trouble(f"{what} {BROKEN_OFF}")
        if self._kept_bytes + len(data) <= KEPT_BYTES:
            self._kept_bytes += len(data)
            self._kept[identity] = data, stream
        return data

    def font(self, source: DictionaryObject) -> Font:
        """Return the font of a font dictionary, read once."""
        key = id(source)
        if key not in self._fonts:
            self._fonts[key] = read_font(source, self.limits), source
        return self._fonts[key][0]

    def extension(self, source: DictionaryObject) -> Extension:
        """Return what a graphics state dictionary sets, read once."""
        found = self._extensions.get(id(source))
        if found is None:
            found = self._extensions[id(source)] = Extension.of(source)
        return found

    def finish(self) -> Findings:
        """Return everything found, the fonts' troubles included."""
        self.settle()
        for font, _ in self._fonts.values():
            for sentence in font.troubles:
                self.findings.trouble(sentence)
        return self.findings

    @contextmanager
    def apart(self) -> Iterator[Findings]:
        """Gather what is found inside apart from the rest, cells included; the caller adds it."""
        outer = self.findings, self.cells
        self.findings, self.cells = Findings(), {}
        try:
            yield self.findings
            self.settle()
        finally:
            self.findings, self.cells = outer

    def settle(self) -> None:
        """Add each tiling cell to the findings with all the places painted with it."""
        cells, self.cells = self.cells, {}
        for cell in cells.values():
            self.findings.add_cell(cell.findings, cell.place)
