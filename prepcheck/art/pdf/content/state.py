"""The graphics state (ISO 32000-2, 8.4), as far as places and paints need it."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from operator import attrgetter
from typing import NamedTuple

from pypdf.generic import DictionaryObject

from prepcheck.art.model import BUTT_CAP, ROUND_CAP, SQUARE_CAP
from prepcheck.art.pdf.colour import DEVICE_GREY, ColourSpace
from prepcheck.art.pdf.content.clip import Clip
from prepcheck.art.pdf.content.mix import blend_name
from prepcheck.art.pdf.objects import array, dictionary, entry, number, resolved, truth
from prepcheck.art.pdf.typeface import Font
from prepcheck.geometry import Affine, Quad


class StateColour(NamedTuple):
    """A colour as set: its space, its components, and the pattern where it is one."""

    space: ColourSpace
    components: tuple[float, ...]
    pattern: DictionaryObject | None = None
    pattern_key: int = 0
    """Identity of the pattern object; patterns do not compare by value."""

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from other colours."""
        return self.space, self.components, self.pattern_key


class GroupMask(NamedTuple):
    """A picture that a soft mask's group is made of: its object number, its size in samples and
    where it lies, in mm."""

    key: int
    samples: tuple[int, int]
    quad: Quad


class Extension(NamedTuple):
    """What a graphics state dictionary (8.4.5) sets; None for what it leaves as it is."""

    source: DictionaryObject
    line_width: float | None
    cap: float | None
    join: float | None
    mitre_limit: float | None
    dashed: bool | None
    fill_overprint: bool | None
    stroke_overprint: bool | None
    overprint_mode: float | None
    fill_opacity: float | None
    stroke_opacity: float | None
    blends: bool | None
    masks: bool | None
    font: tuple[DictionaryObject, float] | None

    @classmethod
    def of(cls, source: DictionaryObject) -> Extension:
        """Read a dictionary."""
        dash, dashed = array(source, "D"), None
        if dash is not None and len(dash):
            pattern = resolved(dash[0])
            dashed = isinstance(pattern, list) and any(pattern)
        stroke = truth(source, "OP") if entry(source, "OP") is not None else None
        blend, masks = entry(source, "BM"), entry(source, "SMask") is not None
        setting, font = array(source, "Font"), None
        if setting is not None and len(setting) == 2:
            face, size = resolved(setting[0]), resolved(setting[1])
            if isinstance(face, DictionaryObject) and isinstance(size, int | float):
                font = face, float(size)
        return cls(
            source=source,
            line_width=number(source, "LW"),
            cap=number(source, "LC"),
            join=number(source, "LJ"),
            mitre_limit=number(source, "ML"),
            dashed=dashed,
            fill_overprint=truth(source, "op") if entry(source, "op") is not None else stroke,
            stroke_overprint=stroke,
            overprint_mode=number(source, "OPM"),
            fill_opacity=number(source, "ca"),
            stroke_opacity=number(source, "CA"),
            blends=None if blend is None else blend_name(blend) not in PLAIN_BLENDS,
            masks=dictionary(source, "SMask") is not None if masks else None,
            font=font,
        )


class Type3(NamedTuple):
    """A Type 3 font as set: its resource name, its size, and the name it has in the copies."""

    label: str
    source: DictionaryObject
    size: float
    alias: str


MITRE_JOIN = 0.0
"""Corners joined by mitres (ISO 32000-2, Table 54)."""
BLENDED, MASKED = 1, 2
PLAIN_BLENDS = ("Normal", "Compatible")
BLACK = StateColour(DEVICE_GREY, (0.0,))


@dataclass(slots=True)
class State:
    """One level of the graphics state; `q` copies it. Lengths in user space unless said."""

    ctm: Affine
    """User space to the target frame in mm."""
    clip: Clip
    fill: StateColour = BLACK
    stroke: StateColour = BLACK
    line_width: float = 1.0
    cap: int = 0
    join: float = MITRE_JOIN
    mitre_limit: float = 10.0
    dashed: bool = False
    fill_overprint: bool = False
    stroke_overprint: bool = False
    overprint_mode: int = 0
    fill_opacity: float = 1.0
    stroke_opacity: float = 1.0
    group_opacity: float = 1.0
    """Product of the opacities of the groups this content is inside of."""
    mask: GroupMask | None = None
    """The picture in the current soft mask's group, if it has one."""
    group_mask: GroupMask | None = None
    """That of the groups this content is inside of."""
    font: Font | None = None
    font_size: float = 0.0
    character_spacing: float = 0.0
    word_spacing: float = 0.0
    stretch: float = 1.0
    """Horizontal scaling (Tz / 100)."""
    leading: float = 0.0
    rise: float = 0.0
    mode: int = 0
    type3: Type3 | None = None
    blend: str = "Normal"
    isolated: bool = False
    """Inside an isolated group, where a knocked-out shape still counts."""
    open_group: bool = False
    """Directly inside a transparency group that is not isolated."""
    rgb_group: bool = False
    """Inside a group that blends in RGB."""
    repaints: int = 0
    """How often a renderer paints the place of an object once more: apart, to blend it, and with
    what masks it besides (BLENDED, MASKED)."""

    @property
    def mitre(self) -> float:
        """How many halves of its width a stroke reaches beyond its corners, as in `PathItem`."""
        return max(1.0, self.mitre_limit) if self.join == MITRE_JOIN else 1.0

    @property
    def painting(self) -> tuple[object, ...]:
        """What the paints of a path depend on, while its colours are kept."""
        return (
            id(self.fill), id(self.stroke), self.fill_overprint, self.stroke_overprint,
            self.overprint_mode, self.fill_opacity, self.stroke_opacity, self.group_opacity,
        )  # fmt: skip

    @property
    def uncoloured(self) -> tuple[object, ...]:
        """What the plates of content drawn in this state depend on, but for its colours."""
        return (
            self.fill_overprint, self.stroke_overprint, self.overprint_mode, self.blend, self.mode,
            self.isolated, self.open_group, self.rgb_group,
        )  # fmt: skip

    @property
    def inherited(self) -> tuple[object, ...]:
        """What the plates of content drawn in this state depend on."""
        return (self.fill.key, self.stroke.key, *self.uncoloured)

    def extend(self, by: Extension) -> None:
        """Take what a graphics state dictionary sets."""
        if by.line_width is not None:
            self.line_width = by.line_width
        if by.cap is not None:
            self.cap = cap_of(by.cap)
        if by.join is not None:
            self.join = by.join
        if by.mitre_limit is not None:
            self.mitre_limit = by.mitre_limit
        if by.dashed is not None:
            self.dashed = by.dashed
        if by.stroke_overprint is not None:
            self.stroke_overprint = by.stroke_overprint
        if by.fill_overprint is not None:
            self.fill_overprint = by.fill_overprint
        if by.overprint_mode is not None:
            self.overprint_mode = int(by.overprint_mode)
        if by.fill_opacity is not None:
            self.fill_opacity = by.fill_opacity
        if by.stroke_opacity is not None:
            self.stroke_opacity = by.stroke_opacity
        if by.blends is not None:
            self.repaints = self.repaints & MASKED | BLENDED * by.blends
        if by.masks is not None:
            self.repaints = self.repaints & BLENDED | MASKED * by.masks

    def inside(self) -> State:
        """Return the state that content drawn in this one starts with, in a space of its own."""
        inner = self.copied()
        inner.ctm, inner.type3 = Affine.identity(), None
        return inner

    def copied(self) -> State:
        """Return a copy that may be changed without touching this one: five times as fast as the
        library's way, and made for each `q`."""
        return State(*_FIELDS_OF(self))


_FIELDS_OF = attrgetter(*(field.name for field in fields(State)))


@dataclass(slots=True)
class TextPlace:
    """The text matrices of a text object (9.4.2), and the clip that it collects."""

    matrix: Affine = field(default_factory=Affine.identity)
    line: Affine = field(default_factory=Affine.identity)

    def set(self, matrix: Affine) -> None:
        self.matrix = self.line = matrix

    def next_line(self, x: float, y: float) -> None:
        self.set(_from(x, y, self.line))

    def advance(self, x: float, y: float) -> None:
        self.matrix = _from(x, y, self.matrix)


def _from(x: float, y: float, matrix: Affine) -> Affine:
    """Return a map that begins at another place of its own space."""
    a, b, c, d, e, f = matrix
    return Affine(a, b, c, d, x * a + y * c + e, x * b + y * d + f)


def cap_of(value: float) -> int:
    """Return how a stroke ends by a number in a file; by what none stands for, as if not set."""
    return int(value) if value in (ROUND_CAP, SQUARE_CAP) else BUTT_CAP
