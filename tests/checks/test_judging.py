"""What is shown of a check that says something for each of several pages."""

import pytest

from prepcheck.findings import Severity
from prepcheck.judging.check import Check
from prepcheck.judging.on_parts import SaidOfPart, run_checks
from prepcheck.judging.registry import declarations, order_declarations
from prepcheck.said import Clear, Declaration, FoundAt, Measured
from tests.checks.exams import make_exam
from tests.conftest import CLEAR, never_seen

NAME = "made.up"


def run(*said: object) -> SaidOfPart:
    declared = Declaration(
        NAME, "Made up", FoundAt.INTAKE, (Severity.QUERY,), "Made up for tests.", "none",
        codes=("made-up",), measures=("made_up_mm",),
    )  # fmt: skip
    return run_checks(make_exam(), [Check("made_up", (declared,), lambda exam: iter(said))])  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("measured", "required", "shown"),
    [
        ((8.0, 3.1, 5.0), 3.0, 3.1),
        ((3.0, 2.95, 9.0), 3.0, 2.95),
        ((120.0, 240.0, 90.0), 250.0, 240.0),
        ((251.0, 90.0), 250.0, 251.0),
        ((0.0, 0.0), 0.0, 0.0),
        ((4.0,), None, 4.0),
        (("first", "second"), "any", "first"),
    ],
    ids=["lower", "lower, tolerance", "upper", "upper, tolerance", "none", "no limit", "words"],
)
def test_a_pass_shows_the_page_with_least_to_spare(measured, required, shown) -> None:
    """Worked by hand: against a lower limit the smallest, against an upper one the greatest."""
    (outcome,) = run(*(Clear(NAME, f"{m}", m, required, "mm") for m in measured)).outcomes
    assert (outcome.measured, outcome.why) == (shown, f"{shown}")


@pytest.mark.parametrize(
    ("keep", "values", "kept"),
    [
        ("least", (5.0, 2.0, 3.0), 2.0),
        ("most", (5.0, 7.0, 3.0), 7.0),
        ("most", (None, 7.0, None), 7.0),
        ("least", (None, None), None),
        ("last", (5.0, 2.0), 2.0),
    ],
)
def test_of_measures_the_one_to_keep_is_kept(keep, values, kept) -> None:
    said = run(Clear(NAME, "fine"), *(Measured("made_up_mm", value, keep) for value in values))
    assert said.measured == {"made_up_mm": kept}


def test_what_no_test_ever_saw_is_told() -> None:
    every = {
        (name, code)
        for name, declared in {**declarations(), **order_declarations()}.items()
        for code in (*declared.codes, CLEAR)
    }
    assert never_seen(every) == []
    assert never_seen(every - {("text.stretched", "stretched")}) == [
        "text.stretched: no test ever had it find 'stretched'"
    ]
    assert never_seen(every - {("text.stretched", CLEAR)}) == [
        "text.stretched: no test ever had it pass"
    ]
    assert never_seen(every | {("text.stretched", "odd")}) == [
        "text.stretched: 'odd' was found and is not declared"
    ]
