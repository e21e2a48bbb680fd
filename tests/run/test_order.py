"""Orders end to end: from PDFs of known text and art to findings about the order as a whole."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from prepcheck.cli import cli
from prepcheck.errors import ExitCode, UsageError
from prepcheck.findings import Finding, Result, Severity
from prepcheck.judging.registry import order_declarations
from prepcheck.order import load_order
from prepcheck.report.console import console_text
from prepcheck.report.json import report_text
from prepcheck.report.letter import letter_text
from prepcheck.run.examine import inspect
from tests.factories import Pdf, disc_path
from tests.run.art import QUICK, label_pdf, order_toml

pytestmark = pytest.mark.usefixtures("no_pictures")

PART = '[[part]]\nname = "Label {0}"\nside = "{0}"\nfile = "{1}"\n{2}\n'


def label(path: Path, *lines: str, seed: int = 0, paths: str = "") -> Path:
    """Write a label with live type, one line each, and a row of bars that depends on `seed`."""
    pdf = Pdf()
    font = pdf.add(
        {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica",
         "Encoding": "WinAnsiEncoding"}
    )  # fmt: skip
    bars = "".join(f"{22 + 6 * i} {30 + (i * 7 + seed * 11) % 17} 4 3 re f\n" for i in range(10))
    text = "".join(
        f"BT /F 3 Tf 25 {80 - 4 * i} Td ({line}) Tj ET\n" for i, line in enumerate(lines)
    )
    content = f"0 0.1 0.2 0 k {disc_path(53, 53, 53)} f\n0 0 0 1 k\n{bars}{text}{paths}"
    pdf.page(
        content, (106, 106), trim_mm=(3, 3, 103, 103), bleed_mm=(0, 0, 106, 106),
        resources={"Font": {"F": font}},
    )  # fmt: skip
    path.write_bytes(pdf.bytes())
    return path


def order(folder: Path, *parts: tuple[str, str], head: str = "", more: str = "") -> Path:
    return order_toml(
        folder, "".join(PART.format(side, file, more) for side, file in parts), head=head
    )


def of(result: Result, check: str) -> list[Finding]:
    return [finding for finding in result.findings if finding.check == check]


def two(folder: Path, a: tuple[str, ...], b: tuple[str, ...], seed_b: int = 1) -> Path:
    label(folder / "a.pdf", *a)
    label(folder / "b.pdf", *b, seed=seed_b)
    return order(folder, ("A", "a.pdf"), ("B", "b.pdf"))


B = ("Side B", "FWT 012", "Harbour Songs", "33 1/3 RPM")
A = ("Side A", "FWT 012", "Harbour Songs", "33 1/3 rpm")


def test_nothing_wrong(tmp_path: Path) -> None:
    result = inspect(two(tmp_path, A, B), settings=QUICK)
    assert [f for f in result.findings if f.severity is not Severity.NOTE] == []
    said = {outcome.check: outcome.status for outcome in result.outcomes}
    assert said.keys() == order_declarations().keys()
    assert said["order.text"] == said["order.catalogue"] == said["order.swapped"] == "clear"


def test_the_a_label_sent_twice(tmp_path: Path) -> None:
    path = two(tmp_path, A, B)
    (tmp_path / "b.pdf").write_bytes((tmp_path / "a.pdf").read_bytes())
    result = inspect(path, settings=QUICK)
    (same,) = of(result, "order.same-art")
    assert same.severity is Severity.STOP
    assert "one file under two names" in same.message
    # One mistake is one finding: that B's label says side A is told with the art.
    assert "Label B says 'Side A'" in same.message
    assert of(result, "order.swapped") == []


def test_the_same_but_for_the_letter_of_the_side(tmp_path: Path) -> None:
    path = two(tmp_path, A, ("Side B", *A[1:]), seed_b=0)
    (same,) = of(inspect(path, settings=replace(QUICK, view=QUICK.picture)), "order.same-art")
    assert same.severity is Severity.QUERY
    assert len(same.where) == 1
    box = same.where[0].box
    # 'Side B' stands at 25, 80 on the page, which is -28, 27 in the piece's frame.
    assert -28 < box.x0 < box.x1 < -18
    assert 26 < box.y0 < box.y1 < 30


def test_swapped_files(tmp_path: Path) -> None:
    result = inspect(two(tmp_path, B, A), settings=QUICK)
    (stop,) = of(result, "order.swapped")
    assert (stop.severity, stop.parts) == (Severity.STOP, ("Label A", "Label B"))
    assert of(result, "order.text") == [], "one mistake is one finding"
    assert all(stop in part.of_order for part in result.parts)


def square(path: Path, side: float) -> Path:
    """Write a square of art with its TrimBox."""
    pdf = Pdf()
    page = side + 6
    pdf.page(
        f"0 0 0 0.3 k 0 0 {page} {page} re f\n", (page, page),
        trim_mm=(3, 3, 3 + side, 3 + side), bleed_mm=(0, 0, page, page),
    )  # fmt: skip
    path.write_bytes(pdf.bytes())
    return path


PIECES = (
    '[[part]]\nname = "Label A"\nside = "A"\nspec = "label-12in"\nfile = "{0}"\n'
    '[[part]]\nname = "Label B"\nside = "B"\nspec = "label-12in"\nfile = "b.pdf"\n'
    '[[part]]\nname = "Sticker"\nspec = "sticker-square-50mm"\nfile = "{1}"\n'
)


def test_files_of_two_pieces_exchanged_is_one_stop_and_each_is_checked_as_what_it_is(
    tmp_path: Path,
) -> None:
    two(tmp_path, A, B)
    square(tmp_path / "sticker.pdf", 50.0)
    right, wrong = (
        inspect(order_toml(tmp_path, PIECES.format(*files)), settings=QUICK)
        for files in (("a.pdf", "sticker.pdf"), ("sticker.pdf", "a.pdf"))
    )
    more = [f for f in wrong.every if f.check == "order.swapped"]
    (stop,) = more
    assert (stop.severity, stop.code) == (Severity.STOP, "files-exchanged")
    assert stop.parts == ("Label A", "Sticker")
    assert "sticker.pdf for Label A" in stop.message
    assert stop.fix == "Please swap a.pdf and sticker.pdf, or tell us that we may."
    assert [part.file for part in wrong.parts] == ["a.pdf", "b.pdf", "sticker.pdf"]

    def said(result: Result) -> list[tuple[str, str]]:
        return sorted((f.check, f.code) for f in result.every if f not in more)

    assert said(wrong) == said(right)


def test_a_file_that_is_named_for_another_piece_as_well_is_not_received(tmp_path: Path) -> None:
    two(tmp_path, A, B)
    square(tmp_path / "sticker.pdf", 50.0)
    path = order_toml(tmp_path, PIECES.format("sticker.pdf", "sticker.pdf"))
    result = inspect(path, settings=QUICK)
    assert [part.name for part in result.awaited] == ["Label A"]
    (query,) = result.awaited[0].findings
    assert "names sticker.pdf for Label A as well, and it is Sticker" in query.message


def test_a_link_that_leads_nowhere_is_not_received(tmp_path: Path) -> None:
    path = two(tmp_path, A, B)
    (tmp_path / "b.pdf").unlink()
    (tmp_path / "b.pdf").symlink_to(tmp_path / "gone.pdf")
    (part,) = inspect(path, settings=QUICK).awaited
    assert part.name == "Label B"
    assert "a link to a file that is not" in part.findings[0].message


def test_type_in_outlines_is_not_called_missing(tmp_path: Path) -> None:
    letters = "".join(
        f"{25 + 3 * i} 70 m {26 + 3 * i} 73 l {27 + 3 * i} 70 l {26.5 + 3 * i} 70 l "
        f"{26.2 + 3 * i} 71 l {25.8 + 3 * i} 71 l {25.5 + 3 * i} 70 l h f\n"
        for i in range(14)
    )
    label(tmp_path / "a.pdf", paths=letters)
    label(tmp_path / "b.pdf", *B, seed=1)
    path = order(tmp_path, ("A", "a.pdf"), ("B", "b.pdf"), more='expect = ["FWT 012"]')
    (query,) = of(inspect(path, settings=QUICK), "order.text")
    assert query.severity is Severity.QUERY
    assert "cannot be read" in query.message
    assert "FWT 012" in query.to_confirm


def test_a_missing_side_is_a_stop_and_no_order_error(tmp_path: Path) -> None:
    label(tmp_path / "a.pdf", *A)
    path = order(tmp_path, ("A", "a.pdf"))
    result = inspect(path, settings=QUICK)
    missing, note = of(result, "order.missing-part")
    assert (missing.severity, note.severity) == ("stop", "note")  # the note: no sleeve either
    assert result.missing == ("Label, side B",)
    table = json.loads(report_text(result))
    assert table["missing"] == ["Label, side B"]
    assert "order.missing-part" in {finding["check"] for finding in table["findings"]}
    assert table["verdict"] == "stop"


def test_a_choice_of_parts_misses_nothing(tmp_path: Path) -> None:
    path = two(tmp_path, A, B)
    from prepcheck.run.examine import examine
    from prepcheck.run.gather import gather

    (batch,) = gather([tmp_path / "a.pdf"], order_path=path, settings=QUICK).batches
    result = examine(batch, pictures=False).result
    assert result.missing == ()
    said = {outcome.check: outcome.status for outcome in result.outcomes}
    assert said["order.missing-part"] == said["order.same-art"] == "not-applicable"


def test_an_order_at_hand_is_judged_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    at_hand = load_order(two(tmp_path, A, (*B[:1], "FWT 021", *B[2:])))
    monkeypatch.chdir(tmp_path)
    (catalogue,) = of(inspect(at_hand, settings=QUICK), "order.catalogue")
    assert catalogue.measured == "FWT 021"


def test_loose_art_is_no_order(tmp_path: Path) -> None:
    art = [label_pdf(tmp_path / "a.pdf"), label_pdf(tmp_path / "b.pdf")]
    result = inspect(art, spec="label-12in", settings=QUICK)
    assert (result.findings, result.missing) == ((), ())
    # Nothing but what holds between files whether they were ordered or not.
    assert [outcome.check for outcome in result.outcomes] == ["order.agreement"]


def test_loose_files_are_held_against_each_other(tmp_path: Path) -> None:
    art = [
        label(tmp_path / "a.pdf", *A, "Lanternfold Recordings"),
        label(tmp_path / "b.pdf", *B, "Lanternfold Recordngs", seed=1),
    ]
    result = inspect(art, spec="label-12in", settings=QUICK)
    (query,) = result.findings
    assert (query.check, query.code, query.parts) == ("order.agreement", "spelling", ("a", "b"))
    assert {mark.part for mark in query.where} == {"a", "b"}
    assert all(query in part.of_order for part in result.parts)
    text = letter_text(result)
    assert "The files together" in text
    assert "order" not in text.lower()
    assert "The files together" in console_text(result)


def test_an_unreadable_part_does_not_stop_the_rest(tmp_path: Path) -> None:
    path = two(tmp_path, A, B)
    (tmp_path / "b.pdf").write_bytes(b"%PDF-1.4 broken")
    result = inspect(path, settings=QUICK)
    assert {o.check for o in result.outcomes} == order_declarations().keys()
    assert not result.crashed


def test_severities_of_specs_hold(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(
        'name="own"\ntitle="x"\nextends="label-12in"\n[severity]\n"order.missing-part"="query"\n',
        encoding="utf-8",
    )
    label(tmp_path / "a.pdf", *A)
    path = order(tmp_path, ("A", "a.pdf"), more='spec = "own.toml"')
    found = of(inspect(path, settings=QUICK), "order.missing-part")
    assert {finding.severity for finding in found} == {"query"}


def test_letter_and_explain(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    path, letter = order(tmp_path, ("A", "a.pdf")), tmp_path / "to-client.txt"
    run = CliRunner().invoke(
        cli,
        ["check", str(path), "--out", str(tmp_path / "out"), "--letter", str(letter), "--quiet"],
    )
    assert run.exit_code == ExitCode.STOP, run.output
    text = letter.read_text(encoding="utf-8")
    assert "Dear Fernweh Tapes," in text
    assert "The label for side B is missing" in text
    inspect(path, letter=tmp_path / "same.txt", settings=QUICK)
    assert (tmp_path / "same.txt").read_text(encoding="utf-8") == text
    with pytest.raises(UsageError):
        inspect(path, letter=path, settings=QUICK)
    assert CliRunner().invoke(cli, ["explain", "order.same-art"]).exit_code == 0
    listed = CliRunner().invoke(cli, ["explain"]).output
    assert "order.missing-part" in listed
    assert "bleed.short" in listed
