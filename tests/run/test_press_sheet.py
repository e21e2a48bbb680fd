"""The command sheet: what it writes, says and refuses."""

import hashlib
import json
import math
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner, Result

from prepcheck.cli import cli
from prepcheck.run.gather import gather
from prepcheck.run.press_sheet import only_labels
from tests.run.art import flat_pdf, label_pdf, order_toml, two_labels

LABELS = """
[[part]]
name = "Label A"
file = "a.pdf"
side = "A"
spec = "label-12in"

[[part]]
name = "Label B"
file = "b.pdf"
side = "B"
spec = "label-12in"
"""


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, ["sheet", *map(str, args)])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    folder = tmp_path_factory.mktemp("order")
    label_pdf(folder / "a.pdf")
    label_pdf(folder / "b.pdf")
    flat_pdf(folder / "insert.pdf", 100, 100)
    insert = '\n[[part]]\nname = "Insert"\nfile = "insert.pdf"\nspec = "insert-12in"\n'
    order = order_toml(folder, LABELS + insert, head="quantity = 500")
    said = run(order, "--sheet", "SRA3", "--overs", "6", "--date", "2026-11-28", "--out",
               folder / "out")  # fmt: skip
    return folder, said


def test_the_report_says_where_everything_is_and_what_it_takes(made: tuple[Path, Result]) -> None:
    folder, said = made
    assert said.exit_code == 0, said.output
    report = json.loads((folder / "out" / "P-0417-sheet.json").read_text("utf-8"))
    assert report["schema"] == "prepcheck-sheet/1"
    assert report["order"]["number"] == "P-0417"
    assert (report["rows"], report["square_rows_hold"], report["staggered_rows_hold"]) == (
        "staggered", 8, 11,
    )  # fmt: skip
    assert [(one["name"], one["a_sheet"]) for one in report["labels"]] == [
        ("Label A", 5), ("Label B", 5),
    ]  # fmt: skip
    assert report["sheets"] == 106
    assert report["arithmetic"] == "500 × (1 + 6 %) ÷ 5 = 106"
    for one, file in zip(report["labels"], ("a.pdf", "b.pdf"), strict=True):
        assert one["sha256"] == hashlib.sha256((folder / file).read_bytes()).hexdigest()
    pdf = (folder / "out" / report["pdf"]).read_bytes()
    assert report["pdf_sha256"] == hashlib.sha256(pdf).hexdigest()
    # Ten discs of solid cyan, 100 mm with a hole of 7.24 mm; 106 mm with it.
    (cyan,) = report["plates"]
    assert cyan["ink"] == "Cyan"
    assert cyan["solid_mm2"] == pytest.approx(10 * math.pi * (50**2 - 3.62**2), rel=1e-3)
    assert cyan["sheet_mm2"] == pytest.approx(10 * math.pi * 53**2, rel=1e-3)
    assert "Square rows hold 8, staggered ones 11" in said.output
    assert "10 labels in staggered rows" in said.output


def test_the_slug_line_names_what_the_sheet_is(made: tuple[Path, Result]) -> None:
    folder, _ = made
    page = pdfium.PdfDocument(folder / "out" / "P-0417-sheet.pdf")[0]
    text = page.get_textpage().get_text_bounded()
    words = " ".join(text.split())
    for expected in (
        "Order P-0417", "FWT 012", "2026-11-28", "500 × (1 + 6", "÷ 5 = 106", "Side A: 5 a sheet",
        "Side B: 5 a sheet", "Cyan", "grain",
        hashlib.sha256((folder / "a.pdf").read_bytes()).hexdigest(),
    ):  # fmt: skip
        assert expected in words, (expected, words)


def test_the_same_again_and_never_over_what_is_not_ours(
    made: tuple[Path, Result], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, _ = made
    out = folder / "out"
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert sorted(before) == ["P-0417-sheet.json", "P-0417-sheet.pdf"]
    again = run(folder / "order.toml", "--sheet", "SRA3", "--overs", "6", "--date", "2026-11-28",
                "--out", out, "--quiet")  # fmt: skip
    assert (again.exit_code, again.output) == (0, "")
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    (out / "P-0417-sheet.pdf").write_bytes(b"%PDF-1.4 of somebody else")
    refused = run(folder / "order.toml", "--sheet", "SRA3", "--out", out)
    assert refused.exit_code == 2
    assert "prepcheck did not write this file" in refused.output
    assert (out / "P-0417-sheet.pdf").read_bytes() == b"%PDF-1.4 of somebody else"
    assert len(list(out.iterdir())) == 2


def test_art_that_must_be_corrected_is_refused_unless_despite(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    label_pdf(tmp_path / "b.pdf", bleed=0.0)  # no bleed is a stop
    args = (tmp_path / "a.pdf", tmp_path / "b.pdf", "--spec", "label-12in", "--sheet", "SRA3",
            "--out", tmp_path / "out")  # fmt: skip
    refused = run(*args)
    assert refused.exit_code == 1
    assert "b.pdf: stop, bleed.missing:" in refused.output
    assert "a.pdf: stop" not in refused.output
    assert not (tmp_path / "out").exists()
    printed = run(*args, "--despite", "reprint for the archive", "--date", "2026-11-28")
    assert printed.exit_code == 0, printed.output
    report = json.loads((tmp_path / "out" / "a-and-1-more-sheet.json").read_text("utf-8"))
    assert report["despite"] == "reprint for the archive"
    assert [bool(one["stops"]) for one in report["labels"]] == [False, True]
    page = pdfium.PdfDocument(tmp_path / "out" / report["pdf"])[0]
    words = " ".join(page.get_textpage().get_text_bounded().split())
    assert "reprint for the archive" in words
    assert "Printed despite bleed" in words


def test_what_cannot_be_done_is_said_in_one_line(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    order = order_toml(tmp_path, LABELS)
    for args, said in (
        ((tmp_path / "a.pdf", "--sheet", "A9"), "--sheet A9: write it in mm"),
        ((tmp_path / "a.pdf", "--sheet", "A3", "--date", "28.11.2026"), "YYYY-MM-DD"),
        ((tmp_path / "a.pdf", "--sheet", "A3", "--overs", "many"), "--overs many"),
        ((tmp_path / "a.pdf", "--sheet", "A3", "--share", "A"), "A=3,B=3"),
        ((tmp_path / "a.pdf", "--sheet", "A3", "--margin", "2"), "register marks"),
        ((order, "--sheet", "A3"), "Label B: its file has not come"),
    ):
        result = run(*args, "--out", tmp_path / "out")
        assert result.exit_code == 2
        assert said in result.output
        assert result.output.startswith("prepcheck: ")
        assert len(result.output.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_what_is_not_a_label_or_does_not_fit_is_refused(tmp_path: Path) -> None:
    flat_pdf(tmp_path / "insert.pdf", 300, 300)
    label_pdf(tmp_path / "a.pdf")
    for args, said in (
        ((tmp_path / "insert.pdf", "--spec", "insert-12in", "--sheet", "B2"), "not cut round"),
        ((tmp_path / "a.pdf", "--spec", "label-12in", "--sheet", "100x100"), "it holds none"),
    ):  # fmt: skip
        result = run(*args, "--out", tmp_path / "out")
        assert (result.exit_code, said in result.output) == (2, True), result.output
        assert len(result.output.splitlines()) == 1
    assert not list(tmp_path.glob("out/*"))


def test_only_labels_go_on_a_sheet(tmp_path: Path) -> None:
    folder = tmp_path / "order"
    folder.mkdir()
    flat_pdf(folder / "insert.pdf", 100, 100)
    two_labels(folder)
    insert = '\n[[part]]\nname = "Insert"\nfile = "insert.pdf"\nspec = "insert-12in"\n'
    batch = gather([order_toml(folder, LABELS + insert)]).batches[0]
    assert [task.name for task in batch.tasks] == ["Label A", "Label B", "Insert"]
    assert [task.name for task in only_labels(batch).tasks] == ["Label A", "Label B"]


def test_each_page_of_a_file_of_labels_is_a_label(tmp_path: Path) -> None:
    label_pdf(tmp_path / "two.pdf", pages=2)
    made = run(tmp_path / "two.pdf", "--sheet", "SRA3", "--out", tmp_path / "out")
    assert made.exit_code == 0, made.output
    report = json.loads((tmp_path / "out" / "two-sheet.json").read_text("utf-8"))
    assert [(one["page"], one["a_sheet"]) for one in report["labels"]] == [(1, 5), (2, 5)]
    assert report["sheets"] is None
