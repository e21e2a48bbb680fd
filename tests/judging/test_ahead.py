"""What is foreseen of a page's content is what the checks come to ask for."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from reportlab.lib.colors import CMYKColor

from prepcheck.judging.on_parts import run_checks
from prepcheck.judging.registry import all_checks
from prepcheck.press.separate.printed import printed_view
from prepcheck.press.view import View
from prepcheck.sheets.ahead import look_ahead
from prepcheck.sheets.exam import CloseLook, Exam, Sheet
from tests.truth._page import FOLDS, drawn, exam_of, ground, type_at

CLEARANCES = ("fold_clearance", "trim_clearance")


@dataclass
class Asked:
    """Keeps what is foreseen and what is asked for."""

    sheet: Sheet
    foreseen: list[CloseLook] = field(default_factory=list)
    asked: list[CloseLook] = field(default_factory=list)

    def foresee(self, keys: Iterable[CloseLook]) -> None:
        self.foreseen += keys

    def result(self, key: CloseLook) -> View:
        self.asked.append(key)
        return printed_view(self.sheet.plates_of(*key))


def page_with_type_near_edges() -> Exam:
    def draw(canvas) -> None:
        ground(canvas, CMYKColor(0.2, 0.1, 0.3, 0))
        black = CMYKColor(0, 0, 0, 1)
        for row in range(12):
            type_at(canvas, "Halden", 3, FOLDS[1] + 0.6, -40 + 7 * row, 0, black)
        # Beside the spine's own fold, across it, and at the upper edge of the piece.
        type_at(canvas, "Mossvane", 3, FOLDS[0] + 0.4, -60, 90, black)
        type_at(canvas, "Kettle", 3, FOLDS[0] - 2, 60, 0, black)
        box = exam_of(drawn(lambda _: None, sleeve=True), sleeve=True).sheets[0].outline.bounds
        type_at(canvas, "Brightwater", 3, 40, box.y1 - 3, 0, black)

    return exam_of(drawn(draw, sleeve=True), sleeve=True)


def test_close_looks_that_are_foreseen_are_those_that_are_asked_for() -> None:
    exam = page_with_type_near_edges()
    looks = Asked(exam.sheets[0])
    exam = replace(exam, sheets=(replace(exam.sheets[0], foreseen=looks),))
    look_ahead(exam)
    assert not looks.asked
    said = run_checks(exam, [check for check in all_checks() if check.module in CLEARANCES])
    assert len(said.findings) >= 2
    assert len(looks.asked) >= 6
    assert set(looks.asked) == set(looks.foreseen)
