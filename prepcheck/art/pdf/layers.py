"""Optional content (ISO 32000-2, 8.11): which layers show, which print, and what they are for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from pypdf.generic import ArrayObject, DictionaryObject

from prepcheck.art.facts import Layer
from prepcheck.art.pdf.objects import (
    array,
    as_name,
    dictionary,
    entry,
    items,
    name,
    object_number,
    resolved,
    text,
)
from prepcheck.frozen import dataclass

MAX_EXPRESSION_DEPTH = 20
"""Depth to which a visibility expression is followed; deeper counts as visible."""
COATS = ("White", "Varnish", "Primer")
"""Groups of processing steps (ISO 19593-1) that put something on the sheet. What lies on a layer
of any other group, such as cut lines, tells of making the piece and never prints, whatever the
layer's own states say."""


class LayerUse(NamedTuple):
    """What marked content or an object with an /OC entry belongs to.

    `name` is the layer's name, several joined by ' + '; None where it belongs to none.
    """

    name: str | None
    visible: bool
    prints: bool


NO_LAYER = LayerUse(None, True, True)


@dataclass(frozen=True)
class LayerStates:
    """The states of a document's layers in its default configuration."""

    layers: tuple[Layer, ...] = ()
    numbers: tuple[int, ...] = ()
    """Object number of each layer's group."""

    def use(self, content: object) -> LayerUse:
        """Return the layer that an /OC entry or property list (reference or dictionary) names.

        Follows membership dictionaries with their policies and visibility expressions.
        """
        number = object_number(content)
        if number in self.numbers:
            layer = self.layers[self.numbers.index(number)]
            return LayerUse(layer.name, layer.visible, layer.prints)
        member = resolved(content)
        if not isinstance(member, DictionaryObject) or name(member, "Type") == "OCG":
            return NO_LAYER
        names = tuple(dict.fromkeys(layer.name for layer in self._members(member)))
        return LayerUse(
            " + ".join(names) or None,
            self._shows(member, lambda layer: layer.visible),
            self._shows(member, lambda layer: layer.prints),
        )

    def _layer(self, group: object) -> Layer | None:
        number = object_number(group)
        return self.layers[self.numbers.index(number)] if number in self.numbers else None

    def _members(self, member: DictionaryObject) -> Iterator[Layer]:
        groups = _raw_groups(member)
        expression = array(member, "VE")
        if not groups and expression is not None:
            groups = list(_leaves(expression, MAX_EXPRESSION_DEPTH))
        for group in groups:
            layer = self._layer(group)
            if layer is not None:
                yield layer

    def _shows(self, member: DictionaryObject, on: Callable[[Layer], bool]) -> bool:
        expression = array(member, "VE")
        if expression is not None:
            return self._holds(expression, on, MAX_EXPRESSION_DEPTH)
        states = [
            on(layer) for group in _raw_groups(member) if (layer := self._layer(group)) is not None
        ]
        if not states:
            return True
        match name(member, "P"):
            case "AllOn":
                return all(states)
            case "AnyOff":
                return not all(states)
            case "AllOff":
                return not any(states)
            case _:
                return any(states)

    def _holds(self, expression: object, on: Callable[[Layer], bool], depth: int) -> bool:
        layer = self._layer(expression)
        if layer is not None:
            return on(layer)
        terms = resolved(expression)
        if not isinstance(terms, ArrayObject) or not terms or depth == 0:
            return True
        values = (self._holds(term, on, depth - 1) for term in terms[1:])
        match as_name(resolved(terms[0])):
            case "And":
                return all(values)
            case "Or":
                return any(values)
            case "Not":
                return not next(values, False)
        return True


def _raw_groups(member: DictionaryObject) -> list[object]:
    """Return the groups of a membership dictionary, references as they are."""
    groups = entry(member, "OCGs")
    if isinstance(groups, ArrayObject):
        return list(groups)
    return [] if groups is None else [member.get("/OCGs")]


def _leaves(expression: object, depth: int) -> Iterator[object]:
    terms = resolved(expression)
    if not isinstance(terms, ArrayObject):
        yield expression
    elif depth > 0:
        for term in terms[1:]:
            yield from _leaves(term, depth - 1)


def read_layers(catalog: DictionaryObject) -> LayerStates:
    """Return the states of all layers by the catalog's default configuration."""
    properties = dictionary(catalog, "OCProperties")
    config = dictionary(properties, "D")
    states = _states(config)
    layers: list[Layer] = []
    numbers: list[int] = []
    for reference in array(properties, "OCGs") or ():
        group = resolved(reference)
        number = object_number(reference)
        if not isinstance(group, DictionaryObject) or not number or number in numbers:
            continue
        counts = bool(_intents(group) & _intents(config) or "All" in _intents(config))
        on = states.get(number, name(config, "BaseState") != "OFF") if counts else True
        step = _step(group)
        layers.append(
            Layer(
                name=text(group, "Name") or "",
                visible=_for_event(config, group, number, "View", on) if counts else True,
                prints=(_for_event(config, group, number, "Print", on) if counts else True)
                and (step is None or step[0] in COATS),
                step=step,
            )
        )
        numbers.append(number)
    return LayerStates(tuple(layers), tuple(numbers))


def _states(config: DictionaryObject | None) -> dict[int, bool]:
    found = {}
    for key, state in (("ON", True), ("OFF", False)):
        for reference in array(config, key) or ():
            found[object_number(reference)] = state
    return found


def _intents(holder: DictionaryObject | None) -> set[str | None]:
    intent = entry(holder, "Intent")
    if isinstance(intent, ArrayObject):
        return {as_name(item) for item in items(intent)}
    return {as_name(intent) or "View"}


def _for_event(
    config: DictionaryObject | None, group: DictionaryObject, number: int, event: str, on: bool
) -> bool:
    """Return the state that usage dictionaries ask for at an event (8.11.4.5), else `on`."""
    usage = dictionary(group, "Usage")
    asked = []
    for rule in items(entry(config, "AS")):
        if name(rule, "Event") != event:
            continue
        if number not in {object_number(item) for item in array(rule, "OCGs") or ()}:
            continue
        for category in items(entry(rule, "Category")):
            wish = name(dictionary(usage, as_name(category) or ""), f"{as_name(category)}State")
            asked += [wish == "ON"] if wish in ("ON", "OFF") else []
    return all(asked) if asked else on


def _step(group: DictionaryObject) -> tuple[str, str | None] | None:
    """Return the ISO 19593-1 processing step a group is marked with."""
    metadata = dictionary(group, "GTS_Metadata")
    step_group = name(metadata, "GTS_ProcStepsGroup")
    return (step_group, name(metadata, "GTS_ProcStepsType")) if step_group else None
