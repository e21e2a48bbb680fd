"""What content draws by name: pictures, forms, tiling cells, Type 3 glyphs, shadings."""

from __future__ import annotations

from contextlib import nullcontext
from itertools import chain

from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.limits import Demand
from prepcheck.art.model import ShadingItem
from prepcheck.art.pdf.colour import PatternSpace
from prepcheck.art.pdf.content.clip import EVERYWHERE, Clip
from prepcheck.art.pdf.content.collect import Findings
from prepcheck.art.pdf.content.context import Cell, Host
from prepcheck.art.pdf.content.paints import marks, shading_colours, shading_space
from prepcheck.art.pdf.content.paths import bounded
from prepcheck.art.pdf.content.placed_pictures import inline_dictionary, picture_item
from prepcheck.art.pdf.content.state import GroupMask, State, StateColour
from prepcheck.art.pdf.objects import (
    dictionary,
    entry,
    integer,
    name,
    number,
    numbers,
    object_number,
    raw_entry,
    stream,
)
from prepcheck.art.pdf.streams import Stored, lent
from prepcheck.art.pdf.typeface import Font, Glyph
from prepcheck.geometry import Affine, Box


def draw(host: Host, label: str, xobject: StreamObject) -> None:
    """Draw a picture or form (`Do`), on the layer its /OC entry names."""
    layer = raw_entry(xobject, "OC")
    host.walk.mark(layer)
    try:
        match name(xobject, "Subtype"):
            case "Image":
                _add_picture(host, label, xobject, lent(xobject), object_number(xobject))
            case "Form":
                _draw_form(host, label, xobject)
    finally:
        host.walk.marked.pop()


def add_inline(host: Host, raw: bytes, data: bytes) -> None:
    """Add an inline image."""
    _add_picture(host, "inline", inline_dictionary(raw), data, None)


def _add_picture(
    host: Host, label: str, holder: DictionaryObject, data: Stored, key: int | None
) -> None:
    state = host.state
    paint = host.fill_paint(None)
    item = picture_item(label, holder, data, host.resources, state, paint, host.layer, key)
    if item is None:
        return
    if item.is_mask and item.visible is not None:
        host.fill_paint(item.visible)
    unseen = not marks(paint) if item.is_mask else paint.opacity <= 0
    host.walk.pile(unseen).add_image(item)


def _draw_form(host: Host, label: str, form: StreamObject) -> None:
    state = host.state.copied()
    state.ctm = bounded(_matrix(form).then(state.ctm))
    state.clip = _clipped(state.clip, form, state.ctm)
    if state.clip.empty:
        return
    walk, grouped = host.walk, name(dictionary(form, "Group"), "S") == "Transparency"
    if grouped:
        # A group starts afresh and is laid down as a whole with the outer opacity (11.6.6).
        state.group_opacity *= state.fill_opacity
        state.fill_opacity = state.stroke_opacity = 1.0
        state.group_mask, state.mask = state.mask or state.group_mask, None
        state.repaints = 0
        host.apart.at(0)
    with walk.inside(form, f"the form {label}") as data:
        if data is not None:
            listener = host.listener
            along = nullcontext() if listener is None else listener.along(
                form, host.state, state, data
            )  # fmt: skip
            repaints = host.state.repaints
            counted = walk.groups.inside(walk.findings, repaints) if grouped else nullcontext()
            with along as listener, counted:
                own = dictionary(form, "Resources") or host.resources
                child = host.child(own, state, listener)
                child.colourless = host.colourless
                child.run(data)
    host.apart.at(host.state.repaints)


def group_mask(host: Host, extension: DictionaryObject) -> GroupMask | None:
    """Return the coarsest picture in the group of the soft mask that a graphics state dictionary
    sets, placed as the state has it (ISO 32000-2, 11.6.5.2); None where it sets none."""
    source = dictionary(extension, "SMask")
    group = stream(source, "G")
    if source is None or group is None:
        return None
    own = dictionary(group, "Resources") or host.resources
    if not dictionary(own, "XObject"):
        return None
    walk, ctm = host.walk, bounded(_matrix(group).then(host.state.ctm))
    by_alpha = name(source, "S") == "Alpha"
    key = (object_number(group) or -id(group), ctm, by_alpha)
    if key not in walk.masks:
        # What is wrong in a mask is told where its plates are made.
        with walk.on_no_layer(), walk.apart() as found, walk.inside(group, "a soft mask") as data:
            if data is not None:
                host.child(own, State(ctm, Clip(EVERYWHERE))).run(data)
        walk.masks[key] = _coarsest(found, by_alpha)
    return walk.masks[key]


def _coarsest(found: Findings, by_alpha: bool) -> GroupMask | None:
    masks = []
    for item in found.shown.images:
        key, samples = (item.mask_key, item.mask_samples) if by_alpha else (item.key, item.samples)
        if key and samples is not None and min(samples) > 1:
            fine = min(
                own * n / of for own, n, of in zip(item.ppi, samples, item.samples, strict=True)
            )
            masks.append((fine, GroupMask(key, samples, item.quad)))
    return min(masks, default=(0.0, None), key=lambda one: one[0])[1]


def tile(host: Host, colour: StateColour, pattern: StreamObject, place: Box) -> None:
    """Note a tiling cell as painted over `place`; it is walked the first time only."""
    walk = host.walk
    walk.limits.hold(
        Demand.CELLS, _repeats(pattern, bounded(_matrix(pattern).then(host.base)), place)
    )
    key = (colour.pattern_key, colour.space, colour.components, host.base, walk.layer)
    cell = walk.cells.get(key)
    if cell is not None:
        walk.cells[key] = cell._replace(place=cell.place.union(place))
        return
    with walk.inside(pattern, "a tiling pattern") as data:
        if data is None:
            return
        state = State(bounded(_matrix(pattern).then(host.base)), Clip(EVERYWHERE))
        state.clip = _clipped(state.clip, pattern, state.ctm)
        child = host.child(dictionary(pattern, "Resources") or host.resources, state)
        if integer(pattern, "PaintType") == 2 and isinstance(colour.space, PatternSpace):
            base = colour.space.base
            if base is not None:
                state.fill = state.stroke = StateColour(base, colour.components)
            child.colourless = True
        with walk.apart() as findings:
            child.run(data)
        walk.cells[key] = Cell(findings, place)


def _repeats(pattern: StreamObject, ctm: Affine, place: Box) -> int:
    """Return how often a cell stands in a place; 0 where its steps are no numbers, or 0."""
    across, down = number(pattern, "XStep"), number(pattern, "YStep")
    one = abs((across or 0.0) * (down or 0.0) * ctm.determinant)
    return round(min(place.area / one, 1e18)) if one else 0


def show_procedure(host: Host, font: Font, glyph: Glyph, matrix: Affine) -> Box | None:
    """Draw a glyph of a Type 3 font; returns the box of what it paints, None for nothing.

    A glyph that sets its own colours (`d0`) counts with all it paints. One that is a shape
    (`d1`) is type: only its pictures count beside the type itself.
    """
    walk = host.walk
    if glyph.procedure is None:
        return None
    state = host.state.copied()
    state.ctm = bounded(font.matrix.then(matrix))
    with walk.inside(glyph.procedure, f"a glyph of the font {font.name}") as data:
        if data is None:
            return None
        child = host.child(font.resources or host.resources, state)
        with walk.apart() as findings:
            child.run(data)
    box = _painted_box(findings)
    if child.colourless and not host.colourless:
        for pile in (findings.shown, findings.hidden):
            pile.paths.clear()
    walk.findings.add(findings)
    return box


def _painted_box(findings: Findings) -> Box | None:
    shown = findings.shown if not findings.shown.empty else findings.hidden
    boxes = [
        box
        for box in chain(
            shown.paths.boxes(),
            (item.visible for item in shown.images),
            shown.texts.boxes(),
            (item.box for item in shown.shadings),
        )
        if box is not None
    ]
    return Box.around(corner for box in boxes for corner in box.corners) if boxes else None


def shade(host: Host, shading: DictionaryObject) -> None:
    """Paint a shading over what the clip leaves of its own box (`sh`)."""
    clip = _clipped(host.state.clip, shading, host.state.ctm)
    if clip.empty:
        return
    limits = host.walk.limits
    host.walk.groups.shaded_mm2 += clip.box.area
    space = shading_space(shading, host.resources, limits)
    opacity = host.state.fill_opacity * host.state.group_opacity
    pile = host.walk.pile(opacity <= 0)
    pile.shadings.append(ShadingItem(clip.box, space.facts, host.layer))
    for colour in shading_colours(shading, space, limits):
        for ink, amount in space.inks(colour):
            if amount > 0:
                pile.inks.setdefault(ink)


def _matrix(holder: DictionaryObject) -> Affine:
    values = numbers(entry(holder, "Matrix"), 6)
    return Affine.identity() if values is None else Affine(*values)


def _clipped(clip: Clip, holder: DictionaryObject, ctm: Affine) -> Clip:
    """Return the clip cut down to a BBox entry, where there is one."""
    values = numbers(entry(holder, "BBox"), 4)
    if values is None:
        return clip
    box = Box.around((values[:2], values[2:]))  # type: ignore[arg-type]
    return clip.to_path([[value for corner in ctm.quad(box) for value in corner]], False)
