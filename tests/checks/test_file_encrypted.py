from prepcheck.art.facts import DocumentFacts
from prepcheck.art.model import ArtKind
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import examine, findings, make_exam

CHECK = "file.encrypted"


def test_encryption_stops() -> None:
    (finding,) = findings(CHECK, make_exam(document=DocumentFacts(encrypted=True)))
    assert finding.severity == "stop"


def test_an_open_pdf_is_clear() -> None:
    assert isinstance(examine(CHECK, make_exam())[0], Clear)


def test_a_tiff_has_no_encryption() -> None:
    assert isinstance(examine(CHECK, make_exam(kind=ArtKind.TIFF))[0], NotApplicable)
