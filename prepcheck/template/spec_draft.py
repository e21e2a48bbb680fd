"""Writes the spec that a template stands for: what was read, how, and what was not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

from prepcheck.errors import UsageError
from prepcheck.geometry import Box
from prepcheck.outline import Outline
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec
from prepcheck.template.drawn_lines import DrawnLine
from prepcheck.template.panels import Part, edge_of, parts_of
from prepcheck.template.read import read_drawing
from prepcheck.template.roles import Roles, roles_of
from prepcheck.template.wording import mm, number
from prepcheck.words import listed

_AGREE_MM = 0.1
"""How far distances that say the same may lie apart."""
_OTHER_PIECE_MM = 40.0
"""A shipped spec farther off in size than this is no help."""


@dataclass(frozen=True)
class Draft:
    """A drafted spec as TOML, what it extends, and what contradicts itself in the template."""

    toml: str
    extends: str
    contradictions: tuple[str, ...]


@dataclass
class _Writer:
    """Collects values by their dotted keys, each with how it was read."""

    values: dict[str, str] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)
    comments: list[str] = field(default_factory=list)

    def put(self, key: str, value: str, source: str) -> None:
        self.values[key] = value
        self.sources[key] = f"read from the template: {source}"


def draft_spec(template: Path, name: str | None = None, extends: str | None = None) -> Draft:
    """Return the spec that a template (PDF or SVG) stands for.

    Lengths are read to a hundredth of a mm. What cannot be read is inherited from `extends`, or
    else from the shipped spec of the nearest size. Raises UsageError where nothing is recognised.
    """
    pages = [roles_of(drawn) for drawn in read_drawing(template)]
    known = [roles for roles in pages if roles.trim is not None]
    if not known:
        clash = [words for roles in pages for words in roles.contradictions]
        if clash:
            raise UsageError(*(f"{template}: {words}; mend the template" for words in clash))
        seen = pages[0].seen if pages else "no page"
        raise UsageError(
            f"{template}: no piece was recognised; seen: {seen or 'no line of use'}. Name the "
            "layers (trim, bleed, fold, safe) or draw the trim as one closed line"
        )
    first = pages[0] if pages[0].trim is not None else known[0]
    alike: tuple[str, ...] = ()
    if extends:
        base = load_spec(extends)
    else:
        base, alike = _nearest(first, template.stem)
    writer = _Writer()
    if alike:
        writer.comments.append(
            f"{listed(alike)} {'fits' if len(alike) == 1 else 'fit'} as well as {base.name}; "
            "change what this extends if it is meant for that"
        )
    contradictions = [words for roles in pages for words in roles.contradictions]
    _outline(writer, pages, base, contradictions)
    _lengths(writer, first, base, contradictions)
    own = name or template.stem.lower().replace(" ", "-")
    text = _toml(writer, own, template, base, extends or base.name, contradictions)
    return Draft(text, extends or base.name, tuple(contradictions))


def _nearest(roles: Roles, title: str) -> tuple[Spec, tuple[str, ...]]:
    """Return the shipped spec of the same kind whose size lies nearest, and others as near.

    Of several, the one the template is named after comes first, else that of the larger record.
    """
    trim = roles.trim
    assert trim is not None
    round_one = trim.circle is not None
    hole = roles.hole.box.width if roles.hole is not None else 0.0
    parts = _parts(roles) or ()
    panels = sum(part.kind != "flap" for part in parts) or 1
    choices = []
    for known in spec_names():
        spec = load_spec(known)
        outline = spec.outline_of(0)
        if (spec.outline.kind == "disc") is not round_one:
            continue
        own = sum(panel.kind != "flap" for panel in outline.panels)
        flaps = sum(panel.kind == "flap" for panel in outline.panels)
        off = max(
            abs(outline.bounds.width - trim.box.width),
            abs(outline.bounds.height - trim.box.height),
        )
        drilled = spec.hole.diameter_mm if spec.hole is not None else 0.0
        other = abs(own - panels) * 20 + abs(flaps - (len(parts) - panels if parts else 0)) * 20
        choices.append((off + other + abs(drilled - hole), off, known))
    if not choices:
        raise UsageError("no shipped spec is of this kind; name one with --extends")
    score, off, _ = min(choices)
    equal = [known for *near, known in choices if near == [score, off]]
    called = title.casefold()
    equal.sort(key=lambda known: (known.casefold() not in called, -_inches(known), known))
    return load_spec(equal[0]), tuple(equal[1:])


def _inches(known: str) -> int:
    record = load_spec(known).format
    return 0 if record is None else int(record.partition("-")[0])


def _parts(roles: Roles) -> tuple[Part, ...] | None:
    if roles.trim is None or not len(roles.trim.corners):
        return None
    return parts_of(roles.trim.corners, roles.folds)


def _outline(
    writer: _Writer, pages: Sequence[Roles], base: Spec, contradictions: list[str]
) -> None:
    first = next(roles for roles in pages if roles.trim is not None)
    trim = first.trim
    assert trim is not None
    if trim.circle is not None:
        if base.outline.kind != "disc":
            raise UsageError(f"the template is round, but {base.name} is not; choose --extends")
        width = 2 * trim.circle.radius
        writer.put("outline.diameter_mm", _n(width), f"{trim.named}circle of {mm(width)}")
        if first.hole is not None and first.hole.circle is not None:
            across = 2 * first.hole.circle.radius
            writer.put("hole.diameter_mm", _n(across),
                       f"{first.hole.named}circle of {mm(across)}")  # fmt: skip
        return
    if base.outline.kind == "disc":
        raise UsageError(f"the template is no disc, but {base.name} is; choose --extends")
    texts = []
    for index, roles in enumerate(pages[: len(base.pages)]):
        if roles.trim is None:
            continue
        parts = _parts(roles)
        if parts is None:
            contradictions.append("the folds do not part the trim into rectangles")
            return
        texts.append(_page_text(parts, base.outline_of(index)))
    panels, flaps, source = texts[0]
    where = f"{trim.named}{source}"
    writer.put("outline.panels", panels, where)
    if flaps:
        writer.put("outline.flaps", flaps, where)
    if any(text[0] != panels for text in texts[1:]):
        rows = []
        for page, text in zip(base.pages, texts, strict=False):
            own = "" if text[0] == panels else f", panels = {_flat(text[0])}"
            hung = ""
            if own and page.flaps:
                kept = ", ".join(_flap_text(f.name, f.panel, f.edge, f.depth_mm, f.in_art)
                                 for f in page.flaps)  # fmt: skip
                hung = f", flaps = [{kept}]"
            optional = ", optional = true" if page.optional else ""
            rows.append(f"    {{ name = {_q(page.name)}{optional}{own}{hung} }},")
        writer.put("pages", "[\n" + "\n".join(rows) + "\n]", "one page each; flaps inherited")


def _page_text(parts: Sequence[Part], outline: Outline) -> tuple[str, str, str]:
    """Return panels and flaps as TOML, named as the base names what stands in the same order."""
    own = [part for part in parts if part.kind != "flap"]
    known = [panel for panel in outline.panels if panel.kind != "flap"]
    matched = len(own) == len(known) and all(
        (part.kind == "spine") == (panel.kind == "spine")
        for part, panel in zip(own, known, strict=True)
    )
    rows, names, last, row = [], [], None, -1
    for index, part in enumerate(own):
        if last is None or abs(part.box.centre.y - last) > part.box.height / 3:
            row, last = row + 1, part.box.centre.y
        name = known[index].name if matched else f"panel {index + 1}"
        names.append(name)
        text = f"name = {_q(name)}"
        if part.kind == "spine":
            text += ', kind = "spine"'
        text += f", width_mm = {_n(part.box.width)}, height_mm = {_n(part.box.height)}"
        text += f", row = {row}" if row else ""
        if matched:
            text += f", reads = {_q(known[index].reads)}"
            if known[index].opening:
                text += f", opening = {_q(known[index].opening or '')}"
        rows.append(f"    {{ {text} }},")
    flaps = []
    hung = [panel for panel in outline.panels if panel.kind == "flap"]
    for index, part in enumerate(p for p in parts if p.kind == "flap"):
        on = own[part.hangs_on or 0]
        edge = edge_of(part.box, on.box)
        depth = part.box.height if edge in ("top", "bottom") else part.box.width
        name = next(
            (p.name for p in hung if _near(p.box, part.box, outline.bounds, parts)),
            f"flap {index + 1}",
        )
        flaps.append(f"    {_flap_text(name, names[part.hangs_on or 0], edge, depth, True)},")
    count = f"{len(own)} panel{'s' if len(own) > 1 else ''}"
    count += f" and {len(flaps)} flaps" if flaps else ""
    return (
        "[\n" + "\n".join(rows) + "\n]",
        "[\n" + "\n".join(flaps) + "\n]" if flaps else "",
        f"its silhouette, cut along the folds into {count}",
    )


def _near(known: Box, box: Box, bounds: Box, parts: Sequence[Part]) -> bool:
    """Say whether a flap of the base lies where one was read, centre on centre."""
    x0, y0 = min(p.box.x0 for p in parts), min(p.box.y0 for p in parts)
    x1, y1 = max(p.box.x1 for p in parts), max(p.box.y1 for p in parts)
    x, y = box.centre.x - (x0 + x1) / 2, box.centre.y - (y0 + y1) / 2
    own = known.centre
    middle = bounds.centre
    return abs(own.x - middle.x - x) < 30 and abs(own.y - middle.y - y) < 30


def _flap_text(name: str, panel: str, edge: str, depth: float, in_art: bool) -> str:
    drawn = ", in_art = true" if in_art else ""
    return (
        f"{{ name = {_q(name)}, panel = {_q(panel)}, edge = {_q(edge)}, "
        f"depth_mm = {_n(depth)}{drawn} }}"
    )


def _lengths(writer: _Writer, roles: Roles, base: Spec, contradictions: list[str]) -> None:
    trim = roles.trim
    assert trim is not None
    if roles.bleed is not None:
        by = (roles.bleed.box.width - trim.box.width) / 2
        _two(writer, "bleed", by, base.bleed.least_mm, _how(roles.bleed, by, "outside the trim"))
    to_trim, to_fold = _gaps(roles)
    clearance = base.clearance
    for key, gaps, least in (
        ("clearance.trim", to_trim, clearance.trim.least_mm),
        ("clearance.fold", to_fold, clearance.fold.least_mm if clearance.fold else 0.0),
    ):
        if not gaps:
            continue
        if max(gaps) - min(gaps) > _AGREE_MM:
            listed = ", ".join(mm(gap) for gap in sorted({round(gap, 2) for gap in gaps}))
            contradictions.append(f"{key}: the safe area lies at different distances: {listed}")
            continue
        by = median(gaps)
        _two(writer, key, by, least, _how(roles.safe[0], by, "inside"))
    if roles.ring is not None and roles.hole is not None and clearance.hole is not None:
        by = (roles.ring.box.width - roles.hole.box.width) / 2
        _two(writer, "clearance.hole", by, clearance.hole.least_mm,
             _how(roles.ring, by, "outside the hole"))  # fmt: skip


def _gaps(roles: Roles) -> tuple[list[float], list[float]]:
    """Return the distances of the safe area from the trim and from the folds."""
    trim = roles.trim
    assert trim is not None
    parts = _parts(roles)
    if trim.circle is not None or not parts:
        return [(trim.box.width - line.box.width) / 2 for line in roles.safe], []
    to_trim: list[float] = []
    to_fold: list[float] = []
    for line in roles.safe:
        part = next((p for p in parts if p.box.holds(line.box)), None)
        if part is None:
            continue
        for index, (gap, at) in enumerate(
            (
                (line.box.x0 - part.box.x0, part.box.x0), (line.box.y0 - part.box.y0, part.box.y0),
                (part.box.x1 - line.box.x1, part.box.x1), (part.box.y1 - line.box.y1, part.box.y1),
            )
        ):  # fmt: skip
            upright = index % 2 == 0
            middle = part.box.centre.y if upright else part.box.centre.x
            (to_fold if _at_fold(roles, upright, at, middle) else to_trim).append(gap)
    return to_trim, to_fold


def _at_fold(roles: Roles, upright: bool, at: float, middle: float) -> bool:
    x, y = (at, middle) if upright else (middle, at)
    return any(
        (fold.box.width < fold.box.height) is upright
        and fold.box.grown(_AGREE_MM).holds(Box(x, y, x, y))
        for fold in roles.folds
    )


def _how(line: DrawnLine, by: float, where: str) -> str:
    return f"{line.named}line {mm(by)} {where}"


def _two(writer: _Writer, key: str, wanted: float, least: float, source: str) -> None:
    """Write a limit's wanted step, and its least where the inherited one would lie beyond."""
    writer.put(f"{key}.wanted_mm", _n(wanted), source)
    if least > round(wanted, 2):
        writer.put(f"{key}.least_mm", _n(wanted), source)
        writer.comments.append(f"{key}.least_mm: the inherited {mm(least)} is more than was read")


def _toml(
    writer: _Writer, name: str, template: Path, base: Spec, extends: str,
    contradictions: Sequence[str],
) -> str:  # fmt: skip
    lines = [
        f"# Drafted from the template {template.name}. Read it before you rely on it.",
        f"# What is not here could not be read from a drawing and is inherited from {extends}:",
        "# types and lines, inks, resolutions, barcode, tolerances, and the least of each limit.",
    ]
    lines += [f"# {words}" for words in writer.comments]
    lines += [f"# CONTRADICTION, nothing was guessed: {words}" for words in contradictions]
    for key in ("bleed.wanted_mm", "clearance.trim.wanted_mm", "clearance.hole.wanted_mm",
                "clearance.fold.wanted_mm", "hole.diameter_mm"):  # fmt: skip
        table = key.rpartition(".")[0]
        applies = {
            "clearance.hole": base.clearance.hole, "clearance.fold": base.clearance.fold,
            "hole": base.hole,
        }.get(table, True)  # fmt: skip
        if applies and key not in writer.values:
            lines.append(f"# {key}: not seen in the template, inherited")
    lines += ["", f"extends = {_q(extends)}", f"name = {_q(name)}",
              f"title = {_q(f'{base.title}, from {template.name}')}"]  # fmt: skip
    if "pages" in writer.values:
        lines.append(f"pages = {writer.values['pages']}")
    tables: dict[str, list[str]] = {}
    for key, value in writer.values.items():
        if key != "pages":
            table, _, last = key.rpartition(".")
            tables.setdefault(table, []).append(f"{last} = {value}")
    for table, rows in tables.items():
        lines += ["", f"[{table}]", *rows]
    lines += ["", "[sources]", *(f"{_q(k)} = {_q(v)}" for k, v in writer.sources.items())]
    return "\n".join(lines) + "\n"


def _n(value: float) -> str:
    text = number(value)
    return text if "." in text else f"{text}.0"


def _q(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " else " " for c in escaped) + '"'


def _flat(text: str) -> str:
    return " ".join(line.strip() for line in text.splitlines()).replace(", ]", " ]")
