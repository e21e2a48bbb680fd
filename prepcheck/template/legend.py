"""What stands beside the piece: what it is, what its lines mean, and what its spec asks and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from prepcheck.outline import Panels
from prepcheck.proof.theme import TextStyle
from prepcheck.proof.typeset import balanced, wrap
from prepcheck.spec.model import Spec
from prepcheck.spec.places import Place, Step
from prepcheck.template.model import ART, LAYER_NAMES, Fill, Mark, Stroke, Words, moved
from prepcheck.template.styles import (
    HAIR_MM,
    HEAD,
    LINES,
    RUNNING,
    SOFT,
    SOURCE,
    STRONG,
    SUBTITLE,
    TITLE,
    scaled,
)  # fmt: skip
from prepcheck.template.wording import mm, number
from prepcheck.units import MM_PER_PT, pt_from_mm
from prepcheck.words import listed

_RULER_MM = 50
_SAMPLE_MM = 9.0
_CAUTION = (
    "A template draws what the spec asks; it does not know this job. Where your plant's own "
    "limits differ, theirs hold. Sources marked as common practice are habits of the trade, not "
    "standards."
)


@dataclass(frozen=True)
class LegendBlock:
    """Marks that stay together; (0, 0) is their upper left corner, `height` in mm."""

    height: float
    marks: tuple[Mark, ...]
    heads: bool = False
    """Whether it opens a section and must not end a column."""


@dataclass(frozen=True)
class _Setter:
    """Sets blocks to a width in mm at a scale of the type."""

    width: float
    scale: float

    def lines(
        self, text: str, style: TextStyle, *, indent: float = 0.0, tint: float = 1.0,
        level: bool = False,
    ) -> LegendBlock:  # fmt: skip
        """Return text as lines of the column's width."""
        own = scaled(style, self.scale)
        breaks = balanced if level else wrap
        lines = breaks(text, own, pt_from_mm(self.width - indent))
        leading = own.leading * MM_PER_PT
        first = 0.5 * (leading + own.size * MM_PER_PT * 0.66)
        marks = tuple(
            Words(Step.LEGEND, indent, -first - i * leading, line, own, tint=tint)
            for i, line in enumerate(lines)
        )
        return LegendBlock(leading * len(lines), marks)

    def room(self, height: float) -> LegendBlock:
        return LegendBlock(height * self.scale, ())

    def head(self, text: str) -> LegendBlock:
        """Return a section's head over a rule."""
        words = self.lines(text.upper(), HEAD, tint=SOFT)
        top = 2.6 * self.scale
        rule = Stroke(
            Step.LEGEND, ((0.0, -1.2 * self.scale), (self.width, -1.2 * self.scale)), False,
            HAIR_MM * self.scale, tint=SOFT,
        )  # fmt: skip
        return LegendBlock(
            words.height + top + 0.6 * self.scale, (rule, *moved(words.marks, 0, -top)), True
        )

    def stacked(self, blocks: Sequence[LegendBlock], heads: bool = False) -> LegendBlock:
        """Return blocks under each other as one."""
        marks: list[Mark] = []
        y = 0.0
        for block in blocks:
            marks += moved(block.marks, 0.0, -y)
            y += block.height
        return LegendBlock(y, tuple(marks), heads)


@dataclass(frozen=True)
class LegendEntry:
    """One thing that the spec asks: what of, how much, and by what source."""

    name: str
    value: str
    source: str


def legend_blocks(
    spec: Spec, page_index: int, places: Sequence[Place], width: float, scale: float
) -> tuple[LegendBlock, ...]:
    """Return the legend of a page as blocks for a column of `width` mm."""
    setter = _Setter(width, scale)
    return (
        _title(setter, spec, page_index),
        *_use(setter),
        *_key(setter, spec, places),
        *_figures(setter, spec, page_index),
        *_close(setter),
    )


def _title(setter: _Setter, spec: Spec, page_index: int) -> LegendBlock:
    page = spec.pages[page_index]
    count = len(spec.pages)
    which = f"Page {page_index + 1} of {count}: {page.name}" if count > 1 else ""
    optional = "; may stay unprinted" if page.optional else ""
    lines = [
        setter.lines(spec.title, TITLE, level=True),
        setter.room(1.0),
        setter.lines("Template at true size. Seen from the printed side.", SUBTITLE, tint=SOFT),
    ]
    if which:
        lines.append(setter.lines(f"{which}{optional}", SUBTITLE))
    lines.append(setter.lines(f"Spec: {spec.name}", SUBTITLE, tint=SOFT))
    return setter.stacked([*lines, setter.room(1.5)])


def _use(setter: _Setter) -> Iterator[LegendBlock]:
    lines = [setter.head("Drawing on it")]
    for text in (
        f"Draw on the layer “{ART}”, below the others, and carry grounds out to the bleed.",
        "Leave the other layers in place: they are locked, and marked so that they do not print.",
        "Save the file with its layers and its TrimBox, without scaling it.",
    ):
        lines += [setter.lines(text, RUNNING), setter.room(0.5)]
    yield setter.stacked(lines)


def _key(setter: _Setter, spec: Spec, places: Sequence[Place]) -> Iterator[LegendBlock]:
    yield setter.head("Lines")
    indent = (_SAMPLE_MM + 2.5) * setter.scale
    for step in Step:
        own = [place for place in places if place.step is step]
        if not own:
            continue
        words = setter.stacked(
            [
                setter.lines(f"{LAYER_NAMES[step]}: {_meaning(step, spec, own)}", RUNNING,
                             indent=indent),
                setter.lines(f"Layer “{LAYER_NAMES[step]}”, {' / '.join(filter(None, step.value))}",
                             SOURCE, indent=indent, tint=SOFT),
                setter.room(0.6),
            ]
        )  # fmt: skip
        pattern = LINES[step]
        y = -1.9 * setter.scale
        sample = Stroke(
            step, ((0.0, y), (_SAMPLE_MM * setter.scale, y)), False,
            pattern.weight_mm, pattern.dash_mm,
        )  # fmt: skip
        yield LegendBlock(words.height, (sample, *words.marks))


def _meaning(step: Step, spec: Spec, places: Sequence[Place]) -> str:
    fold = spec.clearance.fold
    circle = places[0].circle
    match step:
        case Step.CUT:
            return f"cut here, {_diameter(circle.radius)}" if circle else "cut here"
        case Step.HOLE:
            return f"drilled after printing, {_diameter(circle.radius)}; do not cut it out" \
                if circle else "drilled"  # fmt: skip
        case Step.FOLD:
            return "creased and folded"
        case Step.GLUE:
            return "glued; part of the art, folded in"
        case Step.INK_FREE:
            return "no ink and no varnish, or the glue does not hold"
        case Step.BLEED:
            return f"grounds and pictures run out to here, {mm(spec.bleed.wanted_mm)} past the trim"
        case Step.SAFE:
            words = f"type and edges stay {mm(spec.clearance.trim.wanted_mm)} inside the trim"
            if spec.clearance.hole is not None and spec.hole is not None:
                words += f" and {mm(spec.clearance.hole.wanted_mm)} outside the hole"
            if fold is not None:
                words += f", {mm(fold.wanted_mm)} from folds"
            return words
        case _:
            return "an EAN-13 at full size with its quiet zones fits here"


def _diameter(radius: float) -> str:
    return f"{mm(2 * radius)} across"


def _figures(setter: _Setter, spec: Spec, page_index: int) -> Iterator[LegendBlock]:
    entries = list(figures(spec, page_index))
    for i, entry in enumerate(entries):
        blocks = [
            setter.lines(f"{entry.name}: {entry.value}", STRONG),
            setter.lines(entry.source, SOURCE, tint=SOFT),
            setter.room(0.9),
        ]
        if not i:
            blocks.insert(0, setter.head("Figures and their sources"))
        yield setter.stacked(blocks)


def figures(spec: Spec, page_index: int) -> Iterator[LegendEntry]:
    """Yield what the spec asks of a page, each with its source."""
    outline = spec.outline_of(page_index)
    box = outline.bounds
    own_panels = spec.pages[page_index].panels is not None
    if isinstance(outline, Panels):
        size = f"{mm(box.width)} × {mm(box.height)}"
        key = "pages" if own_panels else "outline.panels"
    else:
        size, key = f"{mm(box.width)} in diameter", "outline.diameter_mm"
    tolerance = f", ± {mm(spec.outline.trim_tolerance_mm)}"
    yield LegendEntry("Trim", f"{size}{tolerance}", spec.source_of(key))
    if spec.hole is not None:
        yield LegendEntry("Hole", f"{mm(spec.hole.diameter_mm)} in diameter",
                    spec.source_of("hole.diameter_mm"))  # fmt: skip
    yield LegendEntry("Bleed", _two(spec.bleed.wanted_mm, spec.bleed.least_mm),
                spec.source_of("bleed.wanted_mm"))  # fmt: skip
    trim = spec.clearance.trim
    yield LegendEntry("Room inside the trim", f"{_two(trim.wanted_mm, trim.least_mm)}; frames "
                f"{mm(trim.frame_wanted_mm)}", spec.source_of("clearance.trim"))  # fmt: skip
    for name, room in (("hole", spec.clearance.hole), ("fold", spec.clearance.fold)):
        if room is not None and (name == "hole" or outline.folds):
            yield LegendEntry(f"Room round the {name}" if name == "hole" else "Room beside folds",
                        _two(room.wanted_mm, room.least_mm),
                        spec.source_of(f"clearance.{name}"))  # fmt: skip
    yield from _spine(spec, page_index)
    yield from _flap_entries(spec, page_index)
    yield from _technical(spec)


def _two(wanted: float, least: float) -> str:
    return f"{mm(wanted)}, at least {mm(least)}" if least < wanted else mm(wanted)


def _spine(spec: Spec, page_index: int) -> Iterator[LegendEntry]:
    spines = [p for p in spec.outline_of(page_index).panels if p.kind == "spine"]
    if not spines or spec.spine is None:
        return
    width = min(min(p.box.width, p.box.height) for p in spines)
    discs = [
        one.discs for one in spec.spine.widths
        if one.least_mm - spec.spine.width_tolerance_mm <= width
        <= one.most_mm + spec.spine.width_tolerance_mm
    ]  # fmt: skip
    holds = ""
    if discs:
        last = max(discs)
        holds = f", for {listed([str(n) for n in discs])} {'disc' if last == 1 else 'discs'}"
    yield LegendEntry("Spine", f"{mm(width)}{holds}", spec.source_of("spine.widths"))


def _flap_entries(spec: Spec, page_index: int) -> Iterator[LegendEntry]:
    page = spec.pages[page_index]
    flaps = getattr(spec.outline, "flaps", ()) if page.flaps is None else page.flaps
    key = "outline.flaps" if page.flaps is None else "pages"
    for in_art in (True, False):
        own = [flap for flap in flaps if flap.in_art is in_art]
        if not own:
            continue
        depths = listed(dict.fromkeys(mm(flap.depth_mm) for flap in own))
        where = listed(dict.fromkeys(f"{flap.edge} of the {flap.panel}" for flap in own))
        made = "part of the art" if in_art else "added by the plant, not drawn"
        yield LegendEntry("Glue flaps", f"{depths}, {where}; {made}", spec.source_of(key))


def _technical(spec: Spec) -> Iterator[LegendEntry]:
    text, line, spots = spec.text, spec.line, spec.colour.most_spots
    pictures, bits = spec.images.continuous, spec.images.one_bit
    kinds = {"cmyk": "CMYK", "grey": "grey", "spot": "spots", "rgb": "RGB", "lab": "Lab"}
    more = f" and at most {spots} spot {'ink' if spots == 1 else 'inks'}" if spots else ""
    for name, value, key in (
        ("Least type",
         f"{number(text.least_pt)} pt; light on dark {number(text.least_reversed_pt)} pt",
         "text.least_pt"),
        ("Least line",
         f"{mm(line.least_mm)}; light on dark {mm(line.least_reversed_mm)}", "line.least_mm"),
        ("Colour spaces", listed([kinds[kind] for kind in spec.colour.allowed]), "colour.allowed"),
        ("Inks", f"{listed(spec.colour.process_inks)}{more}", "colour.most_spots"),
        ("Greatest total of inks", f"{number(spec.ink.most_total_percent)} %",
         "ink.most_total_percent"),
        ("Pictures",
         f"{number(pictures.wanted_ppi)} ppi, at least {number(pictures.least_ppi)}",
         "images.continuous.wanted_ppi"),
        ("Line art of one bit",
         f"{number(bits.wanted_ppi)} ppi, at least {number(bits.least_ppi)}",
         "images.one_bit.wanted_ppi"),
    ):  # fmt: skip
        yield LegendEntry(name, value, spec.source_of(key))


def _close(setter: _Setter) -> Iterator[LegendBlock]:
    scale = setter.scale
    y, tall = -3.4 * scale, 2.2 * scale
    marks: list[Mark] = []
    for i in range(_RULER_MM + 1):
        high = tall if i % 10 == 0 else tall * 0.7 if i % 5 == 0 else tall * 0.42
        marks.append(Stroke(Step.LEGEND, ((float(i), y), (float(i), y + high)), False, HAIR_MM))
    marks.append(Stroke(Step.LEGEND, ((0.0, y), (float(_RULER_MM), y)), False, HAIR_MM))
    for i in range(0, _RULER_MM, 20):
        corners = ((i, y), (i + 10, y), (i + 10, y - 0.7 * scale), (i, y - 0.7 * scale))
        marks.append(Fill(Step.LEGEND, tuple((float(a), b) for a, b in corners)))
    ruler = LegendBlock(5.2 * scale, tuple(marks))
    yield setter.stacked(
        [
            setter.head("Ruler"),
            ruler,
            setter.lines(f"{_RULER_MM} mm on paper and on screen at 100 %. If it is not, the page "
                         "was scaled.", RUNNING),
            setter.room(0.6),
        ]
    )  # fmt: skip
    yield setter.stacked([setter.head("Caution"), setter.lines(_CAUTION, RUNNING)])
