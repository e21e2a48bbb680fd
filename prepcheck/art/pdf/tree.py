"""The page tree (ISO 32000-2, 7.7.3) and name trees (7.9.6), walked without trusting them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from pypdf.generic import DictionaryObject

from prepcheck.art.limits import Limits
from prepcheck.art.pdf.objects import (
    array,
    dictionary,
    entry,
    items,
    name,
    object_number,
    resolved,
)

INHERITABLE = ("Resources", "MediaBox", "CropBox", "Rotate")
"""Page attributes that a page takes from its parents (Table 31)."""
MAX_NODES = 20_000
"""Nodes of one tree that are visited; trees that share branches could grow without end."""


class PageNode(NamedTuple):
    """A page's dictionary and the inheritable attributes that hold for it, resolved."""

    page: DictionaryObject
    inherited: dict[str, object]

    def attribute(self, key: str) -> object | None:
        """Return one of `INHERITABLE`, the page's own before a parent's."""
        return self.inherited.get(key)


def page_nodes(catalog: DictionaryObject, limits: Limits) -> tuple[list[PageNode], bool]:
    """Return the pages in order, at most `limits.pages`, and whether the tree is sound.

    Unsound: a circle, a level too deep, a kid that is no dictionary, or too many nodes or pages.
    """
    root = dictionary(catalog, "Pages")
    pages: list[PageNode] = []
    sound = root is not None
    stack: list[tuple[DictionaryObject, dict[str, object], frozenset[int]]] = []
    if root is not None:
        stack.append((root, {}, frozenset((_identity(root),))))
    visited = 0
    while stack:
        node, above, path = stack.pop()
        visited += 1
        if visited > MAX_NODES or len(pages) >= limits.pages:
            return pages, False
        own = {key: value for key in INHERITABLE if (value := entry(node, key)) is not None}
        attributes = {**above, **own}
        kids = array(node, "Kids")
        if kids is None or name(node, "Type") == "Page":
            if name(node, "Type") != "Pages":
                pages.append(PageNode(node, attributes))
            continue
        for raw in reversed(kids):
            kid = resolved(raw)
            deep = len(path) > limits.depth
            if isinstance(kid, DictionaryObject) and not deep and _identity(kid) not in path:
                stack.append((kid, attributes, path | {_identity(kid)}))
            else:
                sound = False
    return pages, sound


def name_tree(root: object, limits: Limits) -> Iterator[tuple[object, object]]:
    """Yield the (key, value) pairs of a name tree, each node once."""
    stack: list[object] = [root]
    seen: set[int] = set()
    while stack and len(seen) < MAX_NODES:
        node = stack.pop()
        if not isinstance(node, DictionaryObject) or _identity(node) in seen:
            continue
        seen.add(_identity(node))
        pairs = list(array(node, "Names") or ())[: 2 * limits.annotations]
        for place in range(0, len(pairs) - 1, 2):
            yield resolved(pairs[place]), resolved(pairs[place + 1])
        stack += items(entry(node, "Kids"))


def _identity(node: DictionaryObject) -> int:
    return object_number(node) or -id(node)
