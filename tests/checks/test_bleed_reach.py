"""Bleed that is missing or short, on views drawn to known sizes."""

from __future__ import annotations

import numpy as np
import pytest

from prepcheck.art.model import Content
from prepcheck.findings import Severity
from prepcheck.geometry import Box, FloatArray
from prepcheck.outline import Outline
from prepcheck.press.view import View
from prepcheck.said import Measured, NotApplicable
from prepcheck.sheets.exam import Exam
from tests.checks.exams import edge, examine, findings, ink_view, make_exam, text

PITCH = 25.4 / 600


def disc_exam(radius: float, content: Content | None = None, pitch: float = PITCH) -> Exam:
    def view(outline: Outline) -> View:
        return ink_view(outline, lambda x, y: edge(radius - np.hypot(x, y), pitch), pitch=pitch)

    return make_exam(view=view, content=content)


def arcs(turn: float, *reaches: tuple[float, float, float]) -> Exam:
    """Return a label that bleeds 3 mm, and `reach` mm over `width` degrees round each angle."""

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        radius, angle = np.hypot(x, y), np.degrees(np.arctan2(y, x))
        amount = edge(53 - radius, PITCH)
        for at, width, reach in reaches:
            off = np.abs((angle - at - turn + 180) % 360 - 180)
            amount = np.where(off < width / 2, edge(50 + reach - radius, PITCH), amount)
        return amount

    return make_exam(view=lambda outline: ink_view(outline, ink, pitch=PITCH))


def measured(exam: Exam) -> object:
    return next(s.value for s in examine("bleed.short", exam) if isinstance(s, Measured))


@pytest.mark.parametrize(
    ("reach", "said"),
    [
        (0.0, [("bleed.missing", Severity.STOP)]),
        (0.2, [("bleed.missing", Severity.STOP)]),
        (0.4, [("bleed.short", Severity.STOP)]),
        (1.85, [("bleed.short", Severity.STOP)]),
        (1.95, [("bleed.short", Severity.QUERY)]),
        (2.85, [("bleed.short", Severity.QUERY)]),
        (2.95, []),
        (3.0, []),
        (4.0, []),
    ],
)
def test_reach_against_both_steps(reach: float, said: list[tuple[str, Severity]]) -> None:
    exam = disc_exam(50 + reach)
    found = [*findings("bleed.missing", exam), *findings("bleed.short", exam)]
    assert [(f.check, f.severity) for f in found] == said
    for finding in found:
        assert finding.measured == pytest.approx(reach, abs=0.05)
        assert "all round" in finding.message
    assert measured(exam) == pytest.approx(reach, abs=0.05)


@pytest.mark.parametrize("turn", [0.0, 77.7, 180.0])
def test_forty_degrees_of_short_bleed(turn: float) -> None:
    exam = arcs(turn, (0, 40, 1.2))
    (found,) = findings("bleed.short", exam)
    assert findings("bleed.missing", exam) == []
    assert (found.severity, found.required, found.unit) == (Severity.STOP, 2.0, "mm")
    assert found.measured == pytest.approx(1.2, abs=0.05)
    assert "on 11 % of the edge (an arc of 40 degrees)" in found.message
    (mark,) = found.where
    middle = mark.path[len(mark.path) // 2]
    expected = 50 * np.array((np.cos(np.radians(turn)), np.sin(np.radians(turn))))
    assert middle == pytest.approx(expected, abs=0.3)
    assert found.source == "pinned for tests: bleed"


def test_each_fault_is_one_finding_with_its_arcs() -> None:
    exam = arcs(10, (0, 30, 0.0), (90, 20, 1.0), (180, 20, 1.5), (270, 20, 2.5))
    (missing,) = findings("bleed.missing", exam)
    stop, query = findings("bleed.short", exam)
    assert [len(f.where) for f in (missing, stop, query)] == [1, 2, 1]
    assert [f.measured for f in (stop, query)] == pytest.approx([1.0, 2.5], abs=0.05)
    assert stop.where[0].value == pytest.approx(1.0, abs=0.05)
    assert "2 arcs, together 40 degrees" in stop.message


def test_a_short_arc_in_a_scant_ring_is_told_apart() -> None:
    exam = arcs(0, (180, 360, 2.5), (0, 40, 1.2))
    stop, query = findings("bleed.short", exam)
    assert (stop.severity, query.severity) == (Severity.STOP, Severity.QUERY)
    assert "an arc of 40 degrees" in stop.message
    assert query.measured == pytest.approx(2.5, abs=0.05)


def test_bare_edge_owes_nothing_and_measures_nothing() -> None:
    exam = disc_exam(45)
    said = examine("bleed.short", exam)
    assert [type(item) for item in said] == [NotApplicable, NotApplicable, Measured]
    assert measured(exam) is None


def test_round_art_on_a_square_page_is_good() -> None:
    assert findings("bleed.short", disc_exam(53)) == []


def test_ink_of_type_that_is_cut_owes_no_bleed() -> None:
    block = Box(-3, 48, 3, 50.8)

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        inside = np.minimum(np.minimum(x - block.x0, block.x1 - x), np.minimum(y - 48, 50.8 - y))
        return edge(inside, PITCH)

    def view(outline: Outline) -> View:
        return ink_view(outline, ink, pitch=PITCH)

    assert findings("bleed.short", make_exam(view=view)) != []
    cut = Content(texts=(text([block]),))
    assert findings("bleed.short", make_exam(view=view, content=cut)) == []


def test_ink_that_stops_at_light_type_outside_the_trim_is_no_short_bleed() -> None:
    block = Box(-3, 50.8, 3, 52.0)

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        inside = np.minimum(np.minimum(x + 3, 3 - x), np.minimum(y - 50.8, 52.0 - y))
        return edge(53.5 - np.hypot(x, y), PITCH) * (1 - edge(inside, PITCH))

    def view(outline: Outline) -> View:
        return ink_view(outline, ink, pitch=PITCH)

    assert findings("bleed.short", make_exam(view=view)) != []
    light = Content(texts=(text([block]),))
    assert findings("bleed.short", make_exam(view=view, content=light)) == []


def test_sleeve_names_stretches_in_millimetres() -> None:
    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        inside = np.minimum(np.minimum(x + 64.5, 62.5 - x), np.minimum(y + 33, 33 - y))
        return edge(inside, 0.1)

    exam = make_exam(
        "sleeve-pinned", view=lambda outline: ink_view(outline, ink, pitch=0.1)
    )  # fmt: skip
    (found,) = findings("bleed.short", exam)
    assert found.measured == pytest.approx(1.0, abs=0.05)
    assert "1 stretch, 60 mm" in found.message
    assert found.where[0].box == pytest.approx(Box(61.5, -30, 61.5, 30), abs=0.3)
