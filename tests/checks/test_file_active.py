import pytest

from prepcheck.art.facts import DocumentFacts
from prepcheck.art.model import ArtKind
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import examine, findings, make_exam

CHECK = "file.active"


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (DocumentFacts(scripts=("on opening",)), "on opening"),
        (DocumentFacts(form_fields=3), "3 form fields"),
        (DocumentFacts(embedded_files=("lyrics.doc",)), "lyrics.doc"),
        (DocumentFacts(media=("page 1",)), "media (page 1)"),
    ],
)
def test_whatever_is_active_stops_and_is_named(facts, words) -> None:
    (finding,) = findings(CHECK, make_exam(document=facts))
    assert finding.severity == "stop"
    assert words in finding.message


def test_a_plain_pdf_is_clear() -> None:
    assert isinstance(examine(CHECK, make_exam())[0], Clear)
    assert isinstance(examine(CHECK, make_exam(kind=ArtKind.TIFF))[0], NotApplicable)
