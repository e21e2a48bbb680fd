"""The contract of every check: declared, tested, never silent, the same each time."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from importlib import import_module
from inspect import unwrap
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, NoReturn

import pytest

from prepcheck.art.facts import FontFacts
from prepcheck.art.model import Content
from prepcheck.art.open import open_art
from prepcheck.findings import Status
from prepcheck.geometry import Box
from prepcheck.judging.check import Check
from prepcheck.judging.on_parts import run_checks
from prepcheck.judging.registry import all_checks, declarations
from prepcheck.measure.trim import locate_trim
from prepcheck.sheets.ahead import look_ahead
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.load import load_spec
from prepcheck.spec.model import Spec
from tests.checks.exams import BLACK, WHITE, box_path, label_spec, make_exam, sleeve_spec, text
from tests.checks.pictures import RGB, picture

OWED = {
    "file": "unreadable encrypted layers annotations active pages blank conformance",
    "size": "trim scale trim-unstated off-centre rotated",
    "bleed": "missing short box",
    "trim": "clearance",
    "hole": "clearance drawn",
    "guide": "printing",
    "image": "resolution enlarged compression",
    "colour": "space inks registration spot-clash",
    "ink": "total heavy-solid faint plates small-type black-type black-solid",
    "overprint": "white lost",
    "plates": "limit",
    "text": "unembedded small",
    "line": "thin",
    "fold": "clearance colour-break",
    "barcode": (
        "unreadable missing digits mismatch size quiet-zone contrast truncated fold resolution"
    ),
    "spine": "off-centre direction too-narrow width",
    "flap": "inked",
    "panel": "upside-down",
}

CHECKS = pytest.mark.parametrize("check", all_checks(), ids=lambda check: check.module)


def test_the_checks_promised_are_there() -> None:
    owed = {f"{family}.{name}" for family, names in OWED.items() for name in names.split()}
    assert sorted(owed - declarations().keys()) == []


@CHECKS
def test_every_declaration_can_be_explained(check: Check) -> None:
    for declaration in check.declarations:
        assert declaration.title
        assert len(declaration.rationale) > 60
        assert declaration.source
        assert declaration.severities


@CHECKS
@pytest.mark.parametrize("spec", [label_spec(), sleeve_spec()], ids=lambda spec: spec.name)
def test_every_limit_named_has_a_source_in_the_spec(check: Check, spec: Spec) -> None:
    for declaration in check.declarations:
        for key in declaration.limits:
            if key.partition(".")[0] in ("print_condition", "outline", "hole"):
                continue
            assert spec.source_of(key)


def sample(spec: Spec):
    content = Content(
        images=(picture(120, space=RGB),),
        texts=(text([Box(0, 20, 2, 22), Box(2, 20, 4, 22)], size_pt=4),),
        paths=(
            box_path(Box(-20, -20, 20, -10), fill=BLACK),
            box_path(Box(-30, -30, -10, -30), stroke=WHITE, stroke_mm=0.1),
        ),
        inks=("Black", "Ember 21 C"),
        declared_inks=("Black", "Ember 21 C", "Tarn 404 C"),
        troubles=("A form could not be read.",),
    )
    return make_exam(spec, content=content, fonts=(FontFacts("Hand Sans", "Type1", False),))


@pytest.mark.parametrize("spec", [label_spec(), sleeve_spec()], ids=lambda spec: spec.name)
def test_no_check_is_silent_crashes_or_varies(spec: Spec) -> None:
    first, second = (run_checks(sample(spec), all_checks()) for _ in range(2))
    assert first == second
    assert [o for o in first.outcomes if o.status is Status.CRASHED] == []
    assert {o.check for o in first.outcomes} == declarations().keys()
    allowed = declarations()
    assert all(f.severity in allowed[f.check].severities for f in first.findings)
    assert all(f.message and f.fix and f.source for f in first.findings)
    assert all(f.code in allowed[f.check].codes for f in first.findings)


@pytest.mark.parametrize("spec", [label_spec(), sleeve_spec()], ids=lambda spec: spec.name)
def test_an_empty_page_is_judged_too(spec: Spec) -> None:
    outcomes = run_checks(make_exam(spec), all_checks()).outcomes
    assert [o for o in outcomes if o.status is Status.CRASHED] == []


FAULTY = Path(__file__).parents[2] / "sample_art" / "faulty"


def drawn(file: str, name: str) -> Exam:
    """Return a part of the faulty order as it is read, not painted."""
    spec, artwork = load_spec(name), open_art(FAULTY / file)
    sheets = []
    for index, page in enumerate(artwork.pages[: len(spec.pages)]):
        outline = spec.outline_of(index)
        place = locate_trim(page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm)
        sheets.append(Sheet(index + 1, page, outline, place, _unpainted))
    return Exam(spec, artwork, tuple(sheets))


def _unpainted(*_: object) -> NoReturn:
    raise AssertionError("the check asked how the page prints")


@pytest.mark.parametrize(
    "exam",
    [
        sample(label_spec()),
        sample(sleeve_spec()),
        make_exam(label_spec()),
        drawn("label-a.pdf", "label-12in"),
        drawn("label-b.jpg", "label-12in"),
        drawn("jacket.pdf", "jacket-12in"),
        drawn("insert.pdf", "insert-12in"),
    ],
    ids=lambda exam: f"{exam.artwork.path.name}-{exam.spec.name}",
)
def test_a_check_that_needs_no_plates_asks_for_none(exam: Exam) -> None:
    sheets = tuple(
        replace(sheet, render=_unpainted, separate=_unpainted, closer=_unpainted)
        for sheet in exam.sheets
    )
    early = [check for check in all_checks() if not check.needs_plates]
    assert len(early) >= 17
    said = run_checks(replace(exam, sheets=sheets), early)
    assert [o for o in said.outcomes if o.status is Status.CRASHED] == []


def test_what_is_looked_at_ahead_needs_no_plates() -> None:
    exam = drawn("jacket.pdf", "jacket-12in")
    sheets = tuple(
        replace(sheet, render=_unpainted, separate=_unpainted, closer=_unpainted)
        for sheet in exam.sheets
    )
    exam = replace(exam, sheets=sheets)
    look_ahead(exam)
    assert {what for what, _ in exam.made} >= {"glyphs", "outlined type", "lines on guides"}


VIEWED = {"view", "plates_of", "barcodes"}
"""What of a sheet or an exam waits for the view, or paints more plates."""
PAINTED = {*VIEWED, "plates", "cells"}
"""What of a sheet or an exam waits for the plates."""


def codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield from codes(constant)


def names_reached(function: Callable[..., Any]) -> set[str]:
    """Return every name read by a function of a check and by those of checks that it calls."""
    waiting, seen, names = [function], set(), set()
    while waiting:
        this = waiting.pop()
        if this in seen or not isinstance(this, FunctionType):
            continue
        seen.add(this)
        own = {name for code in codes(this.__code__) for name in code.co_names}
        names |= own
        known = (this.__globals__.get(name) for name in own)
        waiting += [
            f
            for f in known
            if getattr(f, "__module__", "").startswith(("prepcheck.checks", "prepcheck.sheets"))
        ]
    return names


@CHECKS
def test_only_a_check_that_needs_plates_can_reach_them(check: Check) -> None:
    module = import_module(f"prepcheck.checks.{check.module}")
    steps = (getattr(module, name, None) for name in ("examine", "examine_sheet", "conclude"))
    names = set().union(*(names_reached(unwrap(step)) for step in steps if step is not None))
    assert check.needs_plates == bool(names & PAINTED)
    assert check.needs_view == bool(names & VIEWED)
