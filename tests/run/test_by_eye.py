"""Type in outlines read by eye, from the file to what is said of the order."""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.findings import Finding, Severity
from prepcheck.measure import optical
from prepcheck.run.answer import Task
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.part import examine_part
from prepcheck.run.settings import Settings
from prepcheck.sheets.digest import Digest
from prepcheck.sheets.order_exam import Piece
from prepcheck.spec.load import load_spec
from tests.checks.orders import exam, found, piece
from tests.outlined import Set, label
from tests.run.test_order import label as live

SPEC = load_spec("label-12in")
LINES = (
    Set("Harbour Songs", 0, 30, 12), Set("FWT 021", -27, -5, 9), Set("Side B", 27, -5, 9),
    Set("45 rpm", 0, -25, 9, turn=180),
)  # fmt: skip


def digest_of(path: Path, expect: tuple[str, ...] = ("FWT 012",)) -> Digest:
    order = exam(piece("Label A", None, side="A", expect=expect, file=path.name)).order
    task = Task(
        "Label A", path.name, path, (SPEC,), "named", order.part[0], order,
        settings=Settings(worker=WorkerLimits(seconds=3600)),
    )  # fmt: skip
    digest = examine_part(task).digest
    assert digest is not None
    return digest


def said(check: str, digest: Digest, expect: tuple[str, ...] = ("FWT 012",)) -> list[Finding]:
    one: Piece = piece("Label A", digest, side="A", expect=expect)
    return found(check, one)


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> Digest:
    pytest.importorskip("rapidocr", reason="the optical reader, prepcheck[read], is not installed")
    return digest_of(label(tmp_path_factory.mktemp("art") / "label-a.pdf", LINES))


def test_what_is_read_by_eye_is_told_as_that(read: Digest) -> None:
    assert {word.text for word in read.by_eye} == {line.words for line in LINES}
    (text,) = said("order.text", read)
    assert text.severity is Severity.QUERY
    assert "It seems to say 'Harbour Songs'" in text.message
    assert "read by eye, may be wrong" in text.message
    assert "Harbour Songs" in text.to_confirm, "a person ticks it off all the same"


@pytest.mark.parametrize(
    ("check", "words"),
    [
        ("order.catalogue", "'FWT 021'"),
        ("order.speed-hole", "45 rpm"),
        ("order.swapped", "'Side B'"),
    ],
)
def test_what_is_read_wrong_is_a_query_and_no_stop(read: Digest, check: str, words: str) -> None:
    (query,) = said(check, read)
    assert query.severity is Severity.QUERY
    assert words in query.message
    assert "read by eye and may be wrong" in query.message


def test_without_the_reader_it_is_said_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(optical, "installed", lambda: False)
    digest = digest_of(label(tmp_path / "label-a.pdf", LINES))
    assert (digest.reader, digest.by_eye) == (False, ())
    (text,) = said("order.text", digest)
    assert "pip install 'prepcheck[read]'" in text.source
    assert "by eye" not in text.message


def test_a_reader_that_fails_or_has_no_time_costs_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing() -> optical.OpticalReader:
        raise RuntimeError("no model")

    monkeypatch.setattr(optical, "installed", lambda: True)
    monkeypatch.setattr(optical, "reader", failing)
    digest = digest_of(label(tmp_path / "label-a.pdf", LINES))
    assert (digest.reader, digest.by_eye) == (None, ())
    (text,) = said("order.text", digest)
    assert text.message.endswith(" The optical reader failed (RuntimeError).")


def test_what_is_live_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sound file costs nothing: shapes are not read where nothing is missing."""

    def never() -> optical.OpticalReader:
        raise AssertionError("read")

    monkeypatch.setattr(optical, "reader", never)
    path = live(tmp_path / "label-a.pdf", "Side A", "FWT 012", "Harbour Songs", paths=OUTLINES)
    assert digest_of(path).reader is None


OUTLINES = "".join(
    f"{25 + 3 * i} 70 m {26 + 3 * i} 73 l {27 + 3 * i} 70 l {26.5 + 3 * i} 70 l "
    f"{26.2 + 3 * i} 71 l {25.8 + 3 * i} 71 l {25.5 + 3 * i} 70 l h f\n"
    for i in range(14)
)
