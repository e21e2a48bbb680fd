"""What files say as a whole and a sheet must say too: their layers and their output intent."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    PdfObject,
    StreamObject,
    TextStringObject,
)

from prepcheck.art.pdf.objects import array, dictionary, entry, name, resolved, text

_LISTS = ("/ON", "/OFF", "/Locked", "/AS", "/RBGroups")


def merged_layers(
    catalogs: Sequence[tuple[str, DictionaryObject]], writer: PdfWriter
) -> DictionaryObject | None:
    """Return the optional-content properties of all files in one, None where none has layers.

    Each layer keeps its own state: where files differ in the state that layers have unless it is
    said, it is said. Source: ISO 32000-2, 8.11.4.
    """
    found = [
        (label, properties)
        for label, catalog in catalogs
        if (properties := dictionary(catalog, "OCProperties")) is not None
    ]
    if not found:
        return None
    if len(found) == 1:
        own = found[0][1].clone(writer)
        assert isinstance(own, DictionaryObject)
        return own
    groups: list[PdfObject] = []
    lists: dict[str, list[PdfObject]] = {key: [] for key in _LISTS}
    order: list[PdfObject] = []
    intents: list[str] = []
    for label, properties in found:
        config = dictionary(properties, "D") or DictionaryObject()
        own_groups = _cloned(array(properties, "OCGs"), writer)
        groups += own_groups
        for key in _LISTS:
            lists[key] += _cloned(array(config, key[1:]), writer)
        if name(config, "BaseState") == "OFF":
            on = _cloned(array(config, "ON"), writer)
            lists["/OFF"] += [group for group in own_groups if group not in on]
        order += [
            ArrayObject((TextStringObject(label), *_cloned(array(config, "Order"), writer)))
        ]  # fmt: skip
        intents += _intents(config)
    default = DictionaryObject({NameObject("/BaseState"): NameObject("/ON")})
    for key, values in lists.items():
        if values:
            default[NameObject(key)] = ArrayObject(_once(values))
    default[NameObject("/Order")] = ArrayObject(order)
    if set(intents) != {"/View"}:
        default[NameObject("/Intent")] = ArrayObject(NameObject(one) for one in _unique(intents))
    return DictionaryObject(
        {
            NameObject("/OCGs"): ArrayObject(_once(groups)),
            NameObject("/D"): writer._add_object(default),
        }
    )


def _cloned(values: ArrayObject | None, writer: PdfWriter) -> list[PdfObject]:
    return [] if values is None else list(values.clone(writer))


def _once(values: Iterable[PdfObject]) -> list[PdfObject]:
    """Return references once each, and whatever is no reference as it comes."""
    kept: list[PdfObject] = []
    seen: set[int] = set()
    for value in values:
        if isinstance(value, IndirectObject):
            if value.idnum in seen:
                continue
            seen.add(value.idnum)
        kept.append(value)
    return kept


def _unique(values: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(values))


def _intents(config: DictionaryObject) -> list[str]:
    intent = entry(config, "Intent")
    if isinstance(intent, ArrayObject):
        return [str(resolved(item)) for item in intent]
    return [str(intent) if intent is not None else "/View"]


def common_intents(
    catalogs: Sequence[tuple[str, DictionaryObject]], writer: PdfWriter
) -> tuple[ArrayObject | None, str]:
    """Return the output intents of the files (ISO 32000-2, 14.11.5), None where none has any, and
    what is wrong where two files are meant for different output: one sheet has one."""
    kept: tuple[str, ArrayObject, tuple[str, ...]] | None = None
    for label, catalog in catalogs:
        intents = array(catalog, "OutputIntents")
        if not intents:
            continue
        told = tuple(sorted(_told(resolved(one)) for one in intents))
        if kept is None:
            kept = label, intents, told
        elif kept[2] != told:
            return None, (
                f"{kept[0]} and {label}: are meant for different output "
                f"({_named(kept[1])} and {_named(intents)}); put each on a sheet of its own"
            )
    if kept is None:
        return None, ""
    own = kept[1].clone(writer)
    assert isinstance(own, ArrayObject)
    return own, ""


def _told(intent: object) -> str:
    """Return by what an output intent is told from others: its kind, condition and profile."""
    profile = entry(intent, "DestOutputProfile")
    data = profile.get_data() if isinstance(profile, StreamObject) else b""
    return "|".join(
        (
            str(entry(intent, "S")), str(entry(intent, "OutputConditionIdentifier")),
            hashlib.sha256(data).hexdigest(),
        )
    )  # fmt: skip


def _named(intents: ArrayObject) -> str:
    intent = resolved(intents[0])
    if not isinstance(intent, DictionaryObject):
        return "unnamed"
    return text(intent, "OutputConditionIdentifier") or text(intent, "Info") or "unnamed"
