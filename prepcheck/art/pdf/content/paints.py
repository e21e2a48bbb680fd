"""From colours as set in content to the paint they come out as; each made once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pypdf.generic import ArrayObject, DictionaryObject, NameObject

from prepcheck.art.limits import DEFAULT, Limits
from prepcheck.art.model import NO_INK, PROCESS_INKS, Paint, Space, SpaceFamily
from prepcheck.art.pdf.calculator import FunctionError
from prepcheck.art.pdf.colour import UNKNOWN, ColourSpace, read_space
from prepcheck.art.pdf.content.state import StateColour
from prepcheck.art.pdf.functions import read_function
from prepcheck.art.pdf.objects import (
    dictionary,
    entry,
    integer,
    numbers,
    raw_entry,
    resolved,
)

SHADING_SAMPLES = 9
"""Places along a shading's domain where its colours are asked for."""


class Paints:
    """Makes paints and keeps them, so that a page of 60,000 paths reads a colour once."""

    def __init__(self, limits: Limits = DEFAULT) -> None:
        self._limits = limits
        self._spaces: dict[tuple[str, int], tuple[ColourSpace, DictionaryObject]] = {}
        self._paints: dict[tuple[object, ...], Paint] = {}
        self._patterns: list[DictionaryObject] = []
        self._blank: set[int] = set()

    def space(self, name: str, resources: DictionaryObject) -> ColourSpace:
        """Return the colour space that a name (slash included) stands for among `resources`."""
        key = (name, id(resources))
        if key not in self._spaces:
            # The resources are kept with the space, so that their identity is not used again.
            self._spaces[key] = (
                read_space(NameObject(name), resources, self._limits),
                resources,
            )
        return self._spaces[key][0]

    def paint(self, colour: StateColour, overprint: bool, opacity: float, mode: int = 0) -> Paint:
        """Return what a colour paints with; `mode` is OPM."""
        key = (colour.space, colour.components, colour.pattern_key, overprint, opacity, mode)
        found = self._paints.get(key)
        if found is None:
            if colour.pattern is not None:
                self._patterns.append(colour.pattern)
            found = self._paints[key] = _paint(colour, overprint, opacity, mode, self._limits)
            if not marks(found):
                self._blank.add(id(found))
        return found

    def unseen(self, *paints: Paint | None) -> bool:
        """Say whether all of the paints used, of those made here, leave nothing on the sheet."""
        if not self._blank:
            return False
        used = [paint for paint in paints if paint is not None]
        return bool(used) and all(id(paint) in self._blank for paint in used)


def _paint(
    colour: StateColour, overprint: bool, opacity: float, mode: int, limits: Limits
) -> Paint:
    space, components = colour.space, colour.components
    if colour.pattern is None:
        return Paint(
            space.facts, components, space.inks(components), space.rgb(components),
            overprint, opacity, None, mode,
        )  # fmt: skip
    if integer(colour.pattern, "PatternType") == 2:
        shading = dictionary(colour.pattern, "Shading")
        space = shading_space(shading, None, limits)
        colours = shading_colours(shading, space, limits)
        rgb = _mean([space.rgb(one) for one in colours])
        inks = _greatest([space.inks(one) for one in colours])
        return Paint(space.facts, (), inks, rgb, overprint, opacity, "shading", mode)
    return Paint(
        space.facts, components, space.inks(components), space.rgb(components),
        overprint, opacity, "tiling", mode,
    )  # fmt: skip


def fitted(space: ColourSpace, components: Sequence[float]) -> tuple[float, ...]:
    """Return components of the number the space has; missing ones count as zero."""
    count = space.facts.components
    return (*components[:count], *(0.0,) * (count - len(components)))


def shading_space(
    shading: DictionaryObject | None,
    resources: DictionaryObject | None,
    limits: Limits = DEFAULT,
) -> ColourSpace:
    """Return the colour space of a shading; UNKNOWN when it has none that can be read."""
    source = raw_entry(shading, "ColorSpace")
    return UNKNOWN if source is None else read_space(source, resources, limits)


def shading_colours(
    shading: DictionaryObject | None, space: ColourSpace, limits: Limits = DEFAULT
) -> list[tuple[float, ...]]:
    """Return colours that a shading passes through: sampled along its domain, all inks in full
    where they stand in mesh data."""
    whole = [(1.0,) * space.facts.components] if space.facts.components else []
    source = raw_entry(shading, "Function")
    if source is None:
        return whole
    value = entry(shading, "Function")
    try:
        functions = [
            read_function(one, limits)
            for one in (value if isinstance(value, ArrayObject) and value else [source])
        ]
        domain = numbers(entry(shading, "Domain")) or functions[0].domain[0]
        inputs = 2 if integer(shading, "ShadingType") == 1 else 1
        found = []
        for step in range(SHADING_SAMPLES):
            share = step / (SHADING_SAMPLES - 1)
            place = [
                domain[2 * axis] + share * (domain[2 * axis + 1] - domain[2 * axis])
                for axis in range(min(inputs, len(domain) // 2))
            ]
            values = [x for function in functions for x in function.at(*place)]
            found.append(fitted(space, values))
    except FunctionError:
        return whole
    return found


def _mean(colours: list[tuple[float, float, float]]) -> tuple[float, float, float]:
    if not colours:
        return (0.5, 0.5, 0.5)
    r, g, b = (sum(channel) / len(colours) for channel in zip(*colours, strict=True))
    return (r, g, b)


def _greatest(found: Iterable[tuple[tuple[str, float], ...]]) -> tuple[tuple[str, float], ...]:
    most: dict[str, float] = {}
    for inks in found:
        for ink, amount in inks:
            most[ink] = max(most.get(ink, 0.0), amount)
    return tuple(most.items())


def space_inks(space: Space) -> tuple[str, ...]:
    """Return the plates that colours of a space can mark."""
    match space.family:
        case SpaceFamily.SEPARATION | SpaceFamily.DEVICE_N:
            return tuple(ink for ink in space.colorants if ink != NO_INK)
        case SpaceFamily.GREY | SpaceFamily.CAL_GREY:
            return PROCESS_INKS[3:]
        case SpaceFamily.CMYK:
            return PROCESS_INKS
    return () if space.base is None else space_inks(space.base)


def marks(paint: Paint) -> bool:
    """Say whether a paint leaves anything on the sheet: not when wholly clear, nor in `None`."""
    names = paint.space.colorants
    return paint.opacity > 0 and not (names and all(name == NO_INK for name in names))


def declared_inks(resources: DictionaryObject, limits: Limits) -> tuple[str, ...]:
    """Return every colorant that Separation and DeviceN spaces among `resources` name, and among
    those of the forms, patterns and fonts in them; at most `limits.fonts` dictionaries are
    searched."""
    names: dict[str, None] = {}
    seen: set[int] = set()
    waiting = [resources]
    while waiting and len(seen) < limits.fonts:
        current = waiting.pop()
        if id(current) in seen:
            continue
        seen.add(id(current))
        for source in _spaces_of(current):
            for ink in _named(read_space(source, current, limits).facts):
                names.setdefault(ink)
        for kind in ("XObject", "Pattern", "Font"):
            for holder in items_of(dictionary(current, kind)):
                inner = dictionary(holder, "Resources")
                if inner is not None:
                    waiting.append(inner)
    return tuple(names)


def _spaces_of(resources: DictionaryObject) -> Iterable[object]:
    yield from (dictionary(resources, "ColorSpace") or {}).values()
    for kind in ("XObject", "Shading"):
        for holder in items_of(dictionary(resources, kind)):
            source = raw_entry(holder, "ColorSpace")
            if source is not None:
                yield source
    for pattern in items_of(dictionary(resources, "Pattern")):
        source = raw_entry(dictionary(pattern, "Shading"), "ColorSpace")
        if source is not None:
            yield source


def items_of(holder: DictionaryObject | None) -> Iterable[object]:
    """Yield the resolved values of a dictionary."""
    return () if holder is None else filter(_is_there, map(resolved, dict.values(holder)))


def _is_there(value: object) -> bool:
    return value is not None


def _named(space: Space) -> tuple[str, ...]:
    if space.family in (SpaceFamily.SEPARATION, SpaceFamily.DEVICE_N):
        return tuple(ink for ink in space.colorants if ink != NO_INK)
    return () if space.base is None else _named(space.base)
