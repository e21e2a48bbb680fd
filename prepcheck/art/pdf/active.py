"""What in a PDF acts or carries more than a page: scripts, actions, forms, files, media."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pypdf.generic import ArrayObject, DictionaryObject

from prepcheck.art.facts import Annotation
from prepcheck.art.limits import Limits
from prepcheck.art.pdf.objects import (
    array,
    as_name,
    dictionary,
    entry,
    items,
    name,
    number,
    numbers,
    object_number,
    resolved,
    text,
)
from prepcheck.art.pdf.tree import name_tree
from prepcheck.geometry import Affine, Box

HARMLESS_ACTIONS = ("GoTo", "GoToR", "GoToE", "GoToDp", "URI", "Named", "Thread", "Hide", "Trans")
"""Actions that only move the reader about or show a link (ISO 32000-2, Table 201)."""
MEDIA_ANNOTATIONS = ("Movie", "Sound", "Screen", "RichMedia", "3D")
MAX_CHAIN = 50
"""Actions that follow one another by /Next."""
_HIDDEN, _PRINT = 2, 4
"""Annotation flags (ISO 32000-2, Table 167)."""


def page_annotations(
    page: DictionaryObject, to_page: Affine, limits: Limits
) -> tuple[Annotation, ...]:
    """Return a page's annotations with their boxes in mm in the page's frame."""
    found = []
    for source in annotation_objects(page, limits):
        flags = int(number(source, "F") or 0)
        corners = numbers(source.get("/Rect"), 4) or (0.0, 0.0, 0.0, 0.0)
        box = to_page.box(Box.around(((corners[0], corners[1]), (corners[2], corners[3]))))
        subtype = name(source, "Subtype") or "unknown"
        prints = bool(flags & _PRINT) and not flags & _HIDDEN and subtype != "Popup"
        found.append(Annotation(subtype, box, prints))
    return tuple(found)


def annotation_objects(page: DictionaryObject, limits: Limits) -> list[DictionaryObject]:
    """Return a page's annotation dictionaries, at most `limits.annotations`."""
    listed = list(array(page, "Annots") or ())[: limits.annotations]
    return [item for raw in listed if isinstance(item := resolved(raw), DictionaryObject)]


def scripts(
    catalog: DictionaryObject, pages: Sequence[DictionaryObject], limits: Limits
) -> tuple[str, ...]:
    """Return where scripts and actions sit, in words, each once."""
    found: dict[str, None] = {}

    def note(where: str, kinds: Iterator[str]) -> None:
        for kind in kinds:
            found.setdefault(f"{kind} {where}")

    note("when the file is opened", _acts(entry(catalog, "OpenAction")))
    note("on the document's events", _events(catalog))
    for _ in name_tree(entry(dictionary(catalog, "Names"), "JavaScript"), limits):
        found.setdefault("JavaScript in the document's script list")
    for field in form_fields(catalog, limits):
        note("in a form field", _acts(entry(field, "A")))
        note("in a form field", _events(field))
    if entry(dictionary(catalog, "AcroForm"), "XFA") is not None:
        found.setdefault("an XFA form")
    for place, page in enumerate(pages, 1):
        note(f"on page {place}", _events(page))
        for annotation in annotation_objects(page, limits):
            where = f"in an annotation on page {place}"
            note(where, _acts(entry(annotation, "A")))
            note(where, _events(annotation))
    return tuple(found)


def _events(holder: DictionaryObject) -> Iterator[str]:
    for raw in list((dictionary(holder, "AA") or {}).values()):
        yield from _acts(resolved(raw))


def _acts(action: object) -> Iterator[str]:
    """Yield the kinds of an action and of those that follow it, harmless ones left out."""
    stack: list[object] = [action]
    seen: set[int] = set()
    while stack and len(seen) < MAX_CHAIN:
        current = stack.pop()
        if not isinstance(current, DictionaryObject) or id(current) in seen:
            continue
        seen.add(id(current))
        kind = name(current, "S")
        if kind and kind not in HARMLESS_ACTIONS:
            yield kind
        following = entry(current, "Next")
        stack += items(following) if isinstance(following, ArrayObject) else [following]


def form_fields(catalog: DictionaryObject, limits: Limits) -> list[DictionaryObject]:
    """Return the fields of the interactive form that have no fields below them."""
    stack = list(items(entry(dictionary(catalog, "AcroForm"), "Fields")))
    seen: set[int] = set()
    found = []
    while stack and len(seen) < 4 * limits.annotations:
        field = stack.pop()
        number_of = object_number(field) or -id(field)
        if not isinstance(field, DictionaryObject) or number_of in seen:
            continue
        seen.add(number_of)
        below = [kid for kid in items(entry(field, "Kids")) if entry(kid, "T") is not None]
        if below:
            stack += below
        else:
            found.append(field)
    return found


def embedded_files(
    catalog: DictionaryObject, pages: Sequence[DictionaryObject], limits: Limits
) -> tuple[str, ...]:
    """Return the names of embedded and associated files, each once."""
    found: dict[str, None] = {}
    for key, spec in name_tree(entry(dictionary(catalog, "Names"), "EmbeddedFiles"), limits):
        label = key if isinstance(key, str) else "unnamed"
        found.setdefault(_file_name(spec) or label.strip() or "unnamed")
    for holder in (catalog, *pages):
        for spec in items(entry(holder, "AF")):
            found.setdefault(_file_name(spec) or "unnamed")
    for page in pages:
        for annotation in annotation_objects(page, limits):
            if name(annotation, "Subtype") == "FileAttachment":
                found.setdefault(_file_name(entry(annotation, "FS")) or "unnamed")
    return tuple(found)


def _file_name(spec: object) -> str | None:
    return text(spec, "UF", "F") or text({"/F": spec}, "F")


def media(pages: Sequence[DictionaryObject], limits: Limits) -> tuple[str, ...]:
    """Return the sound, film and 3D annotations, in words."""
    return tuple(
        f"{as_name(annotation.get('/Subtype'))} on page {place}"
        for place, page in enumerate(pages, 1)
        for annotation in annotation_objects(page, limits)
        if name(annotation, "Subtype") in MEDIA_ANNOTATIONS
    )
