from dataclasses import replace

import pytest

from prepcheck.art.facts import DocumentFacts
from prepcheck.art.model import Content
from prepcheck.said import Clear
from tests.checks.exams import examine, findings, make_exam

CHECK = "file.unreadable"


def test_a_sound_file_is_clear() -> None:
    (said,) = examine(CHECK, make_exam())
    assert isinstance(said, Clear)


@pytest.mark.parametrize(
    ("exam", "severity", "page"),
    [
        (make_exam(document=DocumentFacts(troubles=("The xref was rebuilt.",))), "note", None),
        (make_exam(troubles=("The last strip is cut off.",)), "query", None),
        (make_exam(content=Content(troubles=("A form could not be read.",))), "query", 1),
    ],
)
def test_trouble_is_reported_by_what_it_may_cost(exam, severity, page) -> None:
    (finding,) = findings(CHECK, exam)
    assert (finding.severity, finding.page) == (severity, page)
    trouble = (*exam.artwork.troubles, *exam.artwork.document.troubles)
    assert all(text in finding.message for text in trouble)


def test_the_same_trouble_is_told_once() -> None:
    exam = make_exam(troubles=("Cut off.", "Cut off."))
    assert len(findings(CHECK, exam)) == 1
    assert len(findings(CHECK, replace(exam, sheets=()))) == 1


def test_like_troubles_are_one_finding() -> None:
    many = tuple(f"Object {number} is damaged." for number in range(20))
    (note,) = findings(CHECK, make_exam(document=DocumentFacts(troubles=many)))
    assert note.message == (
        "Damage was mended on reading: Object 0 is damaged; Object 1 is damaged; "
        "Object 2 is damaged; and 17 more."
    )
    (query,) = findings(CHECK, make_exam(content=Content(troubles=many)))
    assert query.message.endswith("; and 17 more.")


def test_a_file_that_does_not_begin_as_what_it_is_is_asked_about() -> None:
    (query,) = findings(CHECK, make_exam(document=DocumentFacts(stray_bytes=700)))
    assert (query.severity, query.code, query.measured) == ("query", "not-at-the-start", 700)
