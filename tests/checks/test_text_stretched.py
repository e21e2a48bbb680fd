"""Type scaled unevenly: what the file says of it, and from where on it is asked about."""

from pathlib import Path

import pytest
from reportlab.pdfgen.canvas import Canvas

from prepcheck.art.model import Content
from prepcheck.art.open import open_art
from prepcheck.geometry import Affine, Box
from prepcheck.judging.on_parts import run_checks
from prepcheck.judging.registry import all_checks
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import examine, findings, label_spec, make_exam, text

CHECK = "text.stretched"
GLYPHS = [Box(x, 20, x + 0.9, 21.5) for x in (0, 1, 2, 3)]


def set_with(stretch: float):
    return text(GLYPHS)._replace(stretch=stretch)


@pytest.mark.parametrize(
    ("matrix", "scaling", "wide"),
    [
        ((1, 0, 0, 1, 0, 0), 100, 1.0),
        ((1, 0, 0, 1, 0, 0), 80, 0.8),
        ((1.3, 0, 0, 1, 0, 0), 100, 1.3),
        ((1, 0, 0, 1.25, 0, 0), 100, 0.8),
        ((1.2, 0, 0, 1, 0, 0), 75, 0.9),
        ((0, 1.1, -1, 0, 0, 0), 100, 1.1),
        ((-1, 0, 0, 1, 0, 0), 100, 1.0),
        ((1, 0, 0.3, 1, 0, 0), 100, 1.0),
        ((2, 0, 0, 2, 0, 0), 100, 1.0),
    ],
    ids=["plain", "condensed", "wide", "tall", "both", "turned", "mirrored", "slanted", "large"],
)
def test_what_the_file_says(tmp_path: Path, matrix, scaling: int, wide: float) -> None:
    """Truth by construction: the matrix and the horizontal scaling written into the file
    (ISO 32000-2, 8.3.4 and 9.3.4)."""
    canvas = Canvas(str(tmp_path / "type.pdf"), pagesize=(400, 400))
    canvas.translate(200, 200)
    canvas.transform(*matrix)
    line = canvas.beginText(0, 0)
    line.setFont("Helvetica", 12)
    line.setHorizScale(scaling)
    line.textOut("Salt")
    canvas.drawText(line)
    canvas.save()
    runs = open_art(tmp_path / "type.pdf").pages[0].content(Affine.identity()).texts
    assert [run.stretch for run in runs] == [pytest.approx(wide)]


@pytest.mark.parametrize(
    ("stretch", "off"),
    [(1.0, None), (1.05, None), (0.95, None), (1.06, 6), (0.94, 6), (0.8, 20), (1.5, 50)],
)
def test_from_where_on_it_is_asked_about(stretch: float, off: float | None) -> None:
    """Limit 5 %, either way, inclusive."""
    exam = make_exam("label-pinned", content=Content(texts=(set_with(1.0), set_with(stretch))))
    said = [(f.severity, f.code, f.measured, f.required, f.unit) for f in findings(CHECK, exam)]
    assert said == ([] if off is None else [("query", "stretched", off, 5, "%")])


def test_one_finding_a_page_with_a_place_for_each_line() -> None:
    lines = [set_with(0.9), set_with(0.7), set_with(1.0)]
    (found,) = findings(CHECK, make_exam("label-pinned", content=Content(texts=tuple(lines))))
    assert [mark.label for mark in found.where] == ["70 % as wide", "90 % as wide"]
    assert found.limit == "text.most_stretch_percent"
    assert found.source == label_spec().source_of(found.limit)


def test_clear_says_how_much() -> None:
    exam = make_exam("label-pinned", content=Content(texts=(set_with(1.03),)))
    (clear,) = [item for item in examine(CHECK, exam) if isinstance(item, Clear)]
    assert (clear.measured, clear.required, clear.unit) == (3.0, 5.0, "%")
    (check,) = [one for one in all_checks() if one.declarations[0].identifier == CHECK]
    assert run_checks(exam, [check]).measured == {"type_stretched_percent": 3.0}


def test_nothing_to_tell_it_by() -> None:
    for content in (Content(), Content(texts=(set_with(0.5)._replace(mode=3),))):
        (said,) = examine(CHECK, make_exam("label-pinned", content=content))
        assert isinstance(said, NotApplicable)
