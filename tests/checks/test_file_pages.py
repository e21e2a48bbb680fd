import pytest

from prepcheck.art.model import Content
from prepcheck.order import OrderPart
from prepcheck.said import Clear
from tests.checks.exams import examine, findings, label_spec, make_exam

CHECK = "file.pages"
ONE = [{"name": "label"}]
TWO = [{"name": "outside"}, {"name": "inside"}]
SPARE = [{"name": "outside"}, {"name": "inside", "optional": True}]


@pytest.mark.parametrize(
    ("pages", "count", "wrong"),
    [
        (ONE, 1, False),
        (ONE, 2, True),
        (TWO, 1, True),
        (TWO, 2, False),
        (TWO, 3, True),
        (SPARE, 1, False),
        (SPARE, 2, False),
        (SPARE, 3, True),
    ],
)
def test_pages_against_the_spec(pages, count, wrong) -> None:
    exam = make_exam(label_spec(pages=pages), content=[Content()] * count)
    found = findings(CHECK, exam)
    assert bool(found) == wrong
    assert all(f.severity == "stop" and f.measured == count for f in found)
    assert wrong or isinstance(examine(CHECK, exam)[0], Clear)


@pytest.mark.parametrize(("page", "wrong"), [(1, False), (4, False), (5, True)])
def test_a_page_picked_by_the_order(page, wrong) -> None:
    part = OrderPart(name="A", file="labels.pdf", page=page)
    exam = make_exam(content=[Content()] * 4, part=part)
    assert bool(findings(CHECK, exam)) == wrong
