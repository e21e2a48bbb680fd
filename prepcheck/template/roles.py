"""Which line of a template is which: by processing step, else by shape, order and name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from prepcheck.geometry import Box
from prepcheck.template.drawn_lines import DrawnLine, DrawnPage
from prepcheck.template.wording import mm
from prepcheck.words import count

_WORDS = {
    "trim": "trim cut die kiss finished endformat beschnitt schnitt stanz stanze stanzform kontur "
    "coupe decoupe rogne corte troquel taglio fustella snij snijlijn stans ciecie ciecia "
    "wykrojnik schneid orez vysek カット 断裁 仕上がり トンボ トリム 抜き型",
    "bleed": "bleed anschnitt beschnittzugabe fondperdu perdu debord sangrado sangria abbondanza "
    "afloop spad spadavka 塗り足し 裁ち落とし",
    "fold": "fold crease score falz falzlinie rill rilllinie rillung nut pli pliure rainage "
    "pliegue plegado hendido piega cordonatura vouw vouwlijn ril rillijn bigowanie zlamywanie "
    "zagiecie zagiecia ohyb big 折り 折り線 スジ",
    "safe": "safe safety live quiet sicherheit sicherheitsabstand securite seguridad sicurezza "
    "veiligheid bezpieczny bezpecna 安全 セーフ",
    "hole": "hole drill punch spindle loch bohrung trou percage agujero foro gat otwor otvor 穴",
    "glue": "glue kleb klebe klebelasche colle collage cola pegamento colla lijm klej lepidlo "
    "のり 糊",
}
_STEPS: dict[tuple[str, str | None], str] = {
    ("Structural", "Cutting"): "trim", ("Structural", "Bleed"): "bleed",
    ("Structural", "Creasing"): "fold", ("Structural", "Folding"): "fold",
    ("Structural", "Drilling"): "hole", ("Structural", "Punching"): "hole",
    ("Structural", "Gluing"): "glue", ("Positions", "ContentArea"): "safe",
}  # fmt: skip
_SAME_MM = 0.05
_LARGEST_HOLE_MM = 45.0
_CENTRED_MM = 0.5
_FOLD_PAST_MM = 15.0
"""How far past the trim the line of a fold may be drawn."""


@dataclass
class Roles:
    """The lines of a page by what they are, and what contradicts itself."""

    trim: DrawnLine | None = None
    bleed: DrawnLine | None = None
    hole: DrawnLine | None = None
    folds: list[DrawnLine] = field(default_factory=list)
    safe: list[DrawnLine] = field(default_factory=list)
    ring: DrawnLine | None = None
    contradictions: list[str] = field(default_factory=list)
    seen: str = ""


def word_of(line: DrawnLine) -> str | None:
    """Return what a line's layer or spot says it is."""
    for name in (line.layer, line.spot):
        plain = re.sub(r"[^\w]+|_", " ", (name or "").casefold())
        plain = plain.translate(str.maketrans("áàâéèêíìóòôúùůüöäçñěščřžýąćęłńśźż",
                                              "aaaeeeiiooouuuuoacnescrzyacelnszz"))  # fmt: skip
        tokens = plain.split()
        for role, words in _WORDS.items():
            for word in words.split():
                if word in tokens or (len(word) > 4 and any(t.startswith(word) for t in tokens)) \
                        or (ord(word[0]) > 0x2000 and word in plain):  # fmt: skip
                    return role
    return None


def roles_of(drawn: DrawnPage) -> Roles:
    """Return what the lines of a page are."""
    stepped = [line for line in drawn.lines if line.step is not None]
    if any(_STEPS.get(line.step or ("", None)) == "trim" for line in stepped):
        return _by_steps(stepped)
    lines = [line for line in drawn.lines if line.step is None]
    return _by_circles(lines, drawn) or _by_boxes(lines, drawn) or Roles(seen=_seen(drawn))


def _seen(drawn: DrawnPage) -> str:
    circles = sum(line.circle is not None for line in drawn.lines)
    boxes = sum(line.is_box for line in drawn.lines)
    if not drawn.lines:
        return ""
    return (
        f"{count(len(drawn.lines), 'line')}, of them {count(circles, 'circle')} and "
        f"{count(boxes, 'rectangle')}"
    )


def _by_steps(lines: Sequence[DrawnLine]) -> Roles:
    by: dict[str, list[DrawnLine]] = {}
    for line in lines:
        role = _STEPS.get(line.step or ("", None))
        if role is not None:
            by.setdefault(role, []).append(line)
    roles = Roles(folds=by.get("fold", []))
    closed = [line for line in by["trim"] if line.closed]
    roles.trim = _only(closed, "trim", roles)
    roles.bleed = _only([line for line in by.get("bleed", []) if line.closed], "bleed", roles)
    roles.hole = _only([line for line in by.get("hole", []) if line.circle], "hole", roles)
    _sort_safe(by.get("safe", []), roles)
    return roles


def _sort_safe(lines: Sequence[DrawnLine], roles: Roles) -> None:
    """Tell the ring round the hole from the safe area inside the trim."""
    for line in lines:
        if line.circle is not None and roles.trim is not None and roles.hole is not None:
            hole, trim = roles.hole.box.width / 2, roles.trim.box.width / 2
            if line.circle.radius - hole < trim - line.circle.radius:
                roles.ring = line
                continue
        roles.safe.append(line)


def _only(lines: Sequence[DrawnLine], what: str, roles: Roles) -> DrawnLine | None:
    """Return the one line of a kind; several of different size contradict each other."""
    sizes: list[DrawnLine] = []
    for line in lines:
        if not any(_alike(line, other) for other in sizes):
            sizes.append(line)
    if len(sizes) > 1:
        listed = ", ".join(_size(line) for line in sizes)
        roles.contradictions.append(f"{len(sizes)} lines claim to be the {what}: {listed}")
        return None
    return sizes[0] if sizes else None


def _alike(a: DrawnLine, b: DrawnLine) -> bool:
    return max(abs(x - y) for x, y in zip(a.box, b.box, strict=True)) <= _SAME_MM


def _size(line: DrawnLine) -> str:
    if line.circle is not None:
        return f"{line.named}circle of {mm(2 * line.circle.radius)}"
    return f"{line.named}{mm(line.box.width)} × {mm(line.box.height)}"


# --- without steps


def _by_circles(lines: Sequence[DrawnLine], drawn: DrawnPage) -> Roles | None:
    circles = [line for line in lines if line.circle is not None and line.box.width > 3.0]
    best: list[DrawnLine] = []
    for line in circles:
        group = [o for o in circles if _centred(o.box, line.box)]
        if max(o.box.width for o in group) >= 40 and len(group) > len(best):
            best = group
    if not best:
        return None
    sizes = sorted(_each_size(best), key=lambda line: -line.box.width)
    roles = Roles()
    outer = [line for line in sizes if line.box.width > _LARGEST_HOLE_MM]
    inner = [line for line in sizes if line.box.width <= _LARGEST_HOLE_MM]
    if inner:
        roles.hole = inner[-1]
        roles.ring = inner[-2] if len(inner) > 1 else None
    _nested(outer, roles, drawn)
    return roles


def _by_boxes(lines: Sequence[DrawnLine], drawn: DrawnPage) -> Roles | None:
    shapes = [line for line in lines if len(line.corners) >= 4 and line.box.width > 20]
    shapes = [line for line in shapes if line.box.height > 20]
    if not shapes:
        return None
    largest = max(shapes, key=lambda line: line.box.area)
    nested = [line for line in shapes if _centred(line.box, largest.box)]
    nested = [line for line in nested if line.box.area > 0.6 * largest.box.area]
    roles = Roles()
    _nested(sorted(_each_size(nested), key=lambda line: -line.box.area), roles, drawn)
    if roles.trim is not None:
        box = roles.trim.box
        within = box.grown(_FOLD_PAST_MM)
        roles.folds = [
            line for line in lines
            if line.is_straight and word_of(line) in (None, "fold") and within.holds(line.box)
            and _inside(line, box)
        ]  # fmt: skip
        if len(roles.folds) and word_of(roles.folds[0]) is None:
            named = [line for line in roles.folds if word_of(line) == "fold"]
            roles.folds = named or roles.folds
        roles.safe += [
            line for line in shapes
            if line.is_box and line not in nested and word_of(line) == "safe"
        ]  # fmt: skip
    return roles


def _inside(line: DrawnLine, box: Box) -> bool:
    """Say whether a straight line runs across most of a piece, away from its edges."""
    x, y = line.box.centre
    if line.box.width < line.box.height:
        return line.box.height > 0.45 * box.height and box.x0 + 1 < x < box.x1 - 1
    return line.box.width > 0.45 * box.width and box.y0 + 1 < y < box.y1 - 1


def _nested(lines: Sequence[DrawnLine], roles: Roles, drawn: DrawnPage) -> None:
    """Tell bleed, trim and safe area among nested lines, largest first.

    The page's own boxes come first, then names where they agree with the order, then dashes.
    """
    if not lines:
        return
    names = [word_of(line) for line in lines]
    trims = [line for line, name in zip(lines, names, strict=True) if name == "trim"]
    if len(trims) > 1:
        _only(trims, "trim", roles)
        return
    index = None
    if drawn.trim is not None:
        index = next(
            (i for i, line in enumerate(lines)
             if abs(line.box.width - drawn.trim.width) <= 0.2
             and abs(line.box.height - drawn.trim.height) <= 0.2), None,
        )  # fmt: skip
        if index is not None and trims and lines[index] is not trims[0]:
            roles.contradictions.append(
                f"the TrimBox lies on {_size(lines[index])}, but {_size(trims[0])} is named "
                "the trim"
            )
            return
    if index is None and trims:
        index = lines.index(trims[0])
    if index is None:
        index = _by_order(lines, names)
    roles.trim = lines[index]
    before, after = lines[:index], lines[index + 1 :]
    gap = [(line.box.width - roles.trim.box.width) / 2 for line in before]
    if before and gap[-1] <= 8:
        roles.bleed = before[-1]
    near = [line for line in after if roles.trim.box.width - line.box.width <= 24]
    if near:
        roles.safe.append(near[0])


def _by_order(lines: Sequence[DrawnLine], names: Sequence[str | None]) -> int:
    """Return which of nested lines is the trim, by what the others are called, else by dashes:
    the cut is drawn solid, and the second of three lies between bleed and safe area."""
    if "bleed" in names and names.index("bleed") + 1 < len(lines):
        return names.index("bleed") + 1
    if "safe" in names and names.index("safe") > 0:
        return names.index("safe") - 1
    solid = [i for i, line in enumerate(lines) if not line.dashed]
    if len(solid) == 1:
        return solid[0]
    return 1 if len(lines) >= 3 else 0


def _each_size(lines: Sequence[DrawnLine]) -> Iterator[DrawnLine]:
    kept: list[DrawnLine] = []
    for line in lines:
        if not any(_alike(line, other) for other in kept):
            kept.append(line)
            yield line


def _centred(a: Box, b: Box) -> bool:
    return float(np.hypot(*(np.array(a.centre) - np.array(b.centre)))) <= _CENTRED_MM
