"""A draft of an order from what the art says. Truth by construction: labels made by ReportLab,
which shares no code with our reader."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from prepcheck.findings import Severity
from prepcheck.order import load_order
from prepcheck.run.examine import inspect
from tests.intake.archives import zipped
from tests.intake.labels import label_pages
from tests.run.art import QUICK, flat_pdf

pytestmark = pytest.mark.usefixtures("no_pictures")

COMMON = ["The Fern Hours", "Lanternfold", "LFR 022", "45 rpm"]


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="prepcheck")


@pytest.fixture(scope="module")
def drafted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Draft the order of three labels, two of them in one file, a fourth whose type says no side,
    a sheet of no known size and a note."""
    folder = tmp_path_factory.mktemp("draft")
    both = [[*COMMON, "Side B", "B1 Owl Ledger"], [*COMMON, "Side A", "A1 Lamps Out at Nine"]]
    (folder / "disc one.pdf").write_bytes(label_pages(both))
    (folder / "label-d.pdf").write_bytes(label_pages([[*COMMON, "Small Hours 4:05"]]))
    (folder / 'odd "name".pdf').write_bytes(label_pages([[*COMMON, "A Rumour"]]))
    flat_pdf(folder / "poster.pdf", 420.0, 594.0)
    (folder / "notes.txt").write_text("call back", encoding="utf-8")
    result = run("draft-order", folder, "--out", folder / "order.toml")
    assert result.exit_code == ExitCode.CLEAR, result.output
    return folder / "order.toml"


def test_what_the_art_says_is_read(drafted: Path) -> None:
    order = load_order(drafted)
    head = order.order
    assert (head.title, head.client, head.catalogue) == ("The Fern Hours", "Lanternfold", "LFR 022")
    assert (head.format, head.discs, head.speed) == ("12-inch", 2, "45")
    parts = {part.side: part for part in order.part}
    assert [(p.side, p.file, p.page) for p in order.part] == [
        ("B", "disc one.pdf", 1), ("A", "disc one.pdf", 2), ("D", "label-d.pdf", None),
        ("C", 'odd "name".pdf', None),
    ]  # fmt: skip
    assert {part.spec for part in order.part} == {"label-12in"}
    assert parts["A"].expect == ("A1 Lamps Out at Nine",)
    assert parts["D"].expect == ("Small Hours 4:05",)


def test_every_guess_has_its_reason(drafted: Path) -> None:
    text = drafted.read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if "=" in line and not line.startswith("#")]
    told = ("name = ", "file = ")
    assert [line for line in lines if " # " not in line and not line.startswith(told)] == []
    assert 'side = "C"  # nothing tells the side: the next that was free' in lines
    assert 'side = "D"  # its file\'s name says so' in lines
    assert "# Left out: poster.pdf: its size fits no piece of this format" in text
    assert "notes.txt" not in text


def test_a_check_of_the_draft_stops_at_nothing_of_the_order(drafted: Path) -> None:
    result = inspect(drafted, settings=QUICK)
    of_order = [f for f in result.findings if f.severity is Severity.STOP]
    assert of_order == []
    pages = [o for p in result.parts for o in p.outcomes if o.check in ("file.pages", "size.trim")]
    assert {outcome.status for outcome in pages} == {"clear"}


def test_archives_and_folders_are_read_and_inks_are_guessed(tmp_path: Path) -> None:
    """Labels made in CMYK: tints of cyan and yellow, type in black."""
    sent = tmp_path / "sent"
    (sent / "Öl & Salz").mkdir(parents=True)
    (sent / "Öl & Salz" / "side „A“ 'final'.pdf").write_bytes(
        label_pages([[*COMMON, "Side A", "Lamps"]])
    )
    (sent / ".hidden.pdf").write_bytes(label_pages([["Side A"]]))
    data = {
        "b/side b.pdf": label_pages([[*COMMON, "Side B", "Owl"]]),
        "c.rar": b"Rar!\x1a\x07\x01\x00",
    }
    zipped(sent / "more.zip", data, stored=False)
    out = tmp_path / "order.toml"
    assert run("draft-order", sent, "--out", out).exit_code == ExitCode.CLEAR
    order, text = load_order(out), out.read_text(encoding="utf-8")
    assert {(p.side, p.file) for p in order.part} == {
        ("A", "sent/Öl & Salz/side „A“ 'final'.pdf"), ("B", "b/side b.pdf"),
    }  # fmt: skip
    assert {p.inks for p in order.part} == {("Cyan", "Yellow", "Black")}
    assert "# in more.zip: unpack it here, or check that" in text
    assert text.count("# what its type, shapes and pictures are painted in") == 2
    assert "# Left out: more.zip/c.rar: " in text


def test_an_order_that_is_there_is_never_replaced(drafted: Path) -> None:
    before = drafted.read_bytes()
    result = run("draft-order", drafted.parent, "--out", drafted)
    assert result.exit_code == ExitCode.USAGE
    assert "this is there already" in result.stderr
    assert drafted.read_bytes() == before


def test_nothing_that_is_known(tmp_path: Path) -> None:
    flat_pdf(tmp_path / "poster.pdf", 420.0, 594.0)
    for what in (tmp_path, tmp_path / "gone.pdf"):
        result = run("draft-order", what, "--out", tmp_path / "order.toml")
        assert result.exit_code == ExitCode.USAGE
        assert len(result.stderr.splitlines()) == 1
        assert str(what) in result.stderr
    assert not (tmp_path / "order.toml").exists()
