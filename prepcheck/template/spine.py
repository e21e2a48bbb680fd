"""A folded piece with another spine: as wide as its discs need."""

from __future__ import annotations

from prepcheck.errors import SpecError, UsageError
from prepcheck.spec.model import PanelsOutline, Spec
from prepcheck.spec.sleeve import PanelSpec, SpineRules, SpineWidth
from prepcheck.template.wording import mm
from prepcheck.words import count, listed

_ROOM_MM = 0.005


def with_spine(spec: Spec, spine_mm: float | None, discs: int | None) -> Spec:
    """Return a spec with its spine made to a width, or to a number of discs.

    Raises UsageError where the piece has no spine, and where no source of the spec supports the
    width; SpecError where the spec itself would be broken by it.
    """
    if spine_mm is None and discs is None:
        return spec
    rules = spec.spine
    if rules is None or not isinstance(spec.outline, PanelsOutline):
        raise UsageError(f"{spec.name}: the piece has no spine, so there is none to make wider")
    if discs is None:
        width = _supported(spec, rules, spine_mm or 0.0, None)
    else:
        wanted = rules.width_for(discs)
        if wanted is None:
            raise UsageError(
                f"{spec.name}: no spine is known for {count(discs, 'disc')}; the spec gives "
                f"{_given(rules)} ({spec.source_of('spine.widths')})"
            )
        if spine_mm is None:
            width = min(max(_drawn(spec), wanted.least_mm), wanted.most_mm)
        else:
            width = _supported(spec, rules, spine_mm, wanted)
    return _made(spec, spec.outline, width)


def _drawn(spec: Spec) -> float:
    """Return the spine's width as the spec draws it."""
    spines = [p for p in spec.outline_of(0).panels if p.kind == "spine"]
    if not spines:
        raise SpecError(f"{spec.name}: the spec has rules for a spine but draws none")
    return min(spines[0].box.width, spines[0].box.height)


def _supported(spec: Spec, rules: SpineRules, spine_mm: float, wanted: SpineWidth | None) -> float:
    choices = rules.widths if wanted is None else (wanted,)
    if any(w.least_mm - _ROOM_MM <= spine_mm <= w.most_mm + _ROOM_MM for w in choices):
        return spine_mm
    whose = "no source supports" if wanted is None else (
        f"for {count(wanted.discs, 'disc')} no source supports"
    )  # fmt: skip
    raise UsageError(
        f"{spec.name}: {whose} a spine of {mm(spine_mm)}; the spec gives {_given(rules)} "
        f"({spec.source_of('spine.widths')})"
    )


def _given(rules: SpineRules) -> str:
    return listed(f"{_range(width)} for {count(width.discs, 'disc')}" for width in rules.widths)


def _range(width: SpineWidth) -> str:
    if width.least_mm == width.most_mm:
        return mm(width.least_mm)
    return f"{mm(width.least_mm)} to {mm(width.most_mm)}"


def _made(spec: Spec, outline: PanelsOutline, width: float) -> Spec:
    made = outline.replaced(panels=_panels(outline.panels, width))
    pages = tuple(
        page if page.panels is None else page.replaced(panels=_panels(page.panels, width))
        for page in spec.pages
    )  # fmt: skip
    return spec.replaced(outline=made, pages=pages)


def _panels(panels: tuple[PanelSpec, ...], width: float) -> tuple[PanelSpec, ...]:
    return tuple(
        panel.replaced(width_mm=width) if panel.kind == "spine" else panel for panel in panels
    )
