"""Fonts that a page's resources name, and whether each is embedded (ISO 32000-2, 9.6 to 9.9)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from pypdf.generic import ArrayObject, DictionaryObject

from prepcheck.art.facts import FontFacts
from prepcheck.art.limits import Limits
from prepcheck.art.pdf.objects import array, dictionary, entry, items, name, object_number, resolved

SUBSET_TAG = re.compile(r"[A-Z]{6}\+")
"""Six capitals and a plus sign before the name of a font subset (9.9.2)."""
_PROGRAMS = ("FontFile", "FontFile2", "FontFile3")


def page_fonts(
    page: DictionaryObject, resources: DictionaryObject, limits: Limits
) -> tuple[FontFacts, ...]:
    """Return each font once, by name; forms, patterns, Type 3 fonts, soft masks and annotation
    appearances are searched too. At most `limits.fonts` resource dictionaries are."""
    found: dict[int, FontFacts] = {}
    seen: set[int] = set()
    stack: list[object] = [resources]
    for annotation in items(entry(page, "Annots")):
        stack += (entry(form, "Resources") for form in _appearances(annotation))
    while stack and len(seen) < limits.fonts:
        holder = stack.pop()
        if not isinstance(holder, DictionaryObject) or _identity(holder) in seen:
            continue
        seen.add(_identity(holder))
        for font in _fonts(holder):
            if _identity(font) not in found:
                found[_identity(font)] = font_facts(font)
                stack.append(entry(font, "Resources"))
        stack += (entry(inner, "Resources") for inner in _inner(holder))
    return tuple(sorted(set(found.values()), key=lambda font: (font.name, font.subtype)))


def font_facts(font: DictionaryObject) -> FontFacts:
    """Return what a font dictionary says; a Type 3 font holds its own drawings, so is embedded."""
    subtype = name(font, "Subtype") or "unknown"
    full = name(font, "BaseFont") or name(font, "Name") or "unnamed"
    tag = SUBSET_TAG.match(full)
    bare = full[tag.end() :] if tag else full
    if subtype == "Type3":
        return FontFacts(bare, subtype, embedded=True)
    holder = font
    if subtype == "Type0":
        inner = next(items(entry(font, "DescendantFonts")), None)
        holder = inner if isinstance(inner, DictionaryObject) else font
        subtype = name(holder, "Subtype") or subtype
    descriptor = dictionary(holder, "FontDescriptor")
    embedded = any(dictionary(descriptor, key) is not None for key in _PROGRAMS)
    return FontFacts(bare, subtype, embedded)


def _fonts(resources: DictionaryObject) -> Iterator[DictionaryObject]:
    yield from _values(dictionary(resources, "Font"))
    for state in _values(dictionary(resources, "ExtGState")):
        pair = array(state, "Font")
        chosen = resolved(pair[0]) if pair else None
        if isinstance(chosen, DictionaryObject):
            yield chosen


def _inner(resources: DictionaryObject) -> Iterator[DictionaryObject]:
    """Yield the forms, patterns and soft-mask groups that resources name."""
    yield from _values(dictionary(resources, "XObject"))
    yield from _values(dictionary(resources, "Pattern"))
    for state in _values(dictionary(resources, "ExtGState")):
        group = dictionary(dictionary(state, "SMask"), "G")
        if group is not None:
            yield group


def _appearances(annotation: object) -> Iterator[DictionaryObject]:
    for state in _values(dictionary(annotation, "AP")):
        yield state
        yield from _values(state)


def _values(holder: DictionaryObject | None) -> Iterator[DictionaryObject]:
    for raw in list((holder or {}).values()):
        value = resolved(raw)
        if isinstance(value, DictionaryObject) and not isinstance(raw, ArrayObject):
            yield value


def _identity(holder: DictionaryObject) -> int:
    return object_number(holder) or -id(holder)
