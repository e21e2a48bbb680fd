"""Many orders in one call: each by itself, and all of them at a glance."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner, Result

from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from prepcheck.report.summary import OrderSummary, summary_csv, summary_schema_text, summary_text
from tests.run.art import label_pdf, two_labels

pytestmark = pytest.mark.usefixtures("no_pictures")


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="prepcheck")


def summary_of(out: Path) -> dict[str, Any]:
    summary: dict[str, Any] = json.loads((out / "summary.json").read_text("utf-8"))
    jsonschema.validate(summary, json.loads(summary_schema_text()))
    return summary


def orders(tmp_path: Path) -> Path:
    """Write five orders: sound, of the same number with no bleed, misspelt, asking for a page
    that is not there, and one whose outputs are in the way of a client's file."""
    folder = tmp_path / "orders"
    for name in ("a-sound", "b-small", "c-misspelt", "d-page", "e-mine"):
        (folder / name).mkdir(parents=True)
    two_labels(folder / "a-sound")
    two_labels(folder / "b-small")
    label_pdf(folder / "b-small" / "b.pdf", bleed=0.0)
    bad = two_labels(folder / "c-misspelt")
    bad.write_text(bad.read_text("utf-8").replace("client", "clint"), encoding="utf-8")
    page = two_labels(folder / "d-page")
    text = page.read_text("utf-8").replace("P-0417", "P-0419")
    page.write_text(f"{text}page = 3\n", encoding="utf-8")
    mine = two_labels(folder / "e-mine")
    mine.write_text(mine.read_text("utf-8").replace("P-0417", "P-0420"), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result, Path]:
    """Check the folder into folders within it, as people do."""
    folder = orders(tmp_path_factory.mktemp("several"))
    out = folder / "checked"
    (out / "letters").mkdir(parents=True)
    (out / "letters" / "e-mine-P-0420-letter.txt").write_text("mine", encoding="utf-8")
    args = ("check", folder, "--out", out, "--letter", out / "letters", "--json", out / "json")
    return folder, run(*args), out


def test_a_bad_order_costs_that_order_alone(checked: tuple[Path, Result, Path]) -> None:
    _, result, out = checked
    assert result.exit_code == ExitCode.USAGE, "the worst of them"
    summary = summary_of(out)
    assert summary["exit_code"] == ExitCode.USAGE
    said = {Path(line["order_file"]).parent.name: line for line in summary["orders"]}
    assert {name: line["verdict"] for name, line in said.items()} == {
        "a-sound": "clear", "b-small": "stop", "c-misspelt": None, "d-page": None,
        "e-mine": None,
    }  # fmt: skip
    assert "clint: unknown key; did you mean 'client'?" in " ".join(said["c-misspelt"]["why"])
    assert "page 3 is asked for" in said["d-page"]["why"][0]
    assert said["b-small"]["stops"] > 0
    for line in said.values():
        for why in line["why"]:
            assert result.stderr.count(f"prepcheck: {why}\n") == 1
    table = result.stdout[result.stdout.index("verdict  ") :].splitlines()
    assert [row.split()[0] for row in table[2:7]] == ["CLEAR", "STOP", "NOT", "NOT", "NOT"]


def test_outputs_are_named_by_folder_and_number(checked: tuple[Path, Result, Path]) -> None:
    _, _, out = checked
    stems = ("a-sound-P-0417", "b-small-P-0417")
    assert {path.name for path in out.glob("*.pdf")} == {f"{stem}-proof.pdf" for stem in stems}
    assert {path.name for path in (out / "json").iterdir()} == {
        f"{stem}-report.json" for stem in stems
    }
    assert {f"{stem}-letter.txt" for stem in stems} < {p.name for p in (out / "letters").iterdir()}
    for line in summary_of(out)["orders"]:
        written = [line[name] for name in ("proof", "report", "letter")]
        assert all(written) if line["verdict"] else written == [None] * 3
        assert all(Path(path).is_file() for path in written if path)
    assert (out / "letters" / "e-mine-P-0420-letter.txt").read_text("utf-8") == "mine"


def test_the_table_for_spreadsheets(checked: tuple[Path, Result, Path]) -> None:
    _, _, out = checked
    with (out / "summary.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["verdict"] for row in rows] == ["clear", "stop", *["not checked"] * 3]
    assert rows[0]["client"] == "Fernweh Tapes"
    assert int(rows[1]["stops"]) == summary_of(out)["orders"][1]["stops"]


def test_what_an_earlier_run_wrote_is_neither_art_nor_order(
    checked: tuple[Path, Result, Path],
) -> None:
    folder, first, out = checked
    inside = folder / "a-sound"
    for path in (*out.glob("*.pdf"), *(out / "json").iterdir(), out / "summary.csv"):
        (inside / path.name).write_bytes(path.read_bytes())
    again = run("check", folder, "--out", out, "--quiet")
    assert again.exit_code == first.exit_code
    report = json.loads((out / "a-sound-P-0417-report.json").read_text("utf-8"))
    assert (report["verdict"], report.get("spare")) == ("clear", None)
    beside = run("check", inside, "--order", inside / "order.toml", "--out", out / "two")
    assert beside.exit_code == ExitCode.CLEAR, beside.output


@pytest.mark.parametrize(
    ("option", "name"), [("--proof", "p.pdf"), ("--json", "-"), ("--letter", "there.txt")]
)
def test_one_file_for_many_orders_is_refused(tmp_path: Path, option: str, name: str) -> None:
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        two_labels(tmp_path / folder)
    path = name if name == "-" else tmp_path / name
    result = run("check", tmp_path, option, path, "--out", tmp_path / "out")
    assert result.exit_code == ExitCode.USAGE
    assert "there are 2 orders here; name a folder" in result.stderr
    assert not (tmp_path / "out").exists()


def test_a_table_that_is_not_ours_is_left_alone(tmp_path: Path) -> None:
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        two_labels(tmp_path / folder)
    (tmp_path / "summary.csv").write_text("my own", encoding="utf-8")
    result = run("check", tmp_path, "--out", tmp_path)
    assert result.exit_code == ExitCode.USAGE
    assert (tmp_path / "summary.csv").read_text("utf-8") == "my own"
    assert not list(tmp_path.glob("*.pdf"))


def test_a_folder_without_an_order_among_orders_is_told(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    two_labels(tmp_path / "one")
    (tmp_path / "two").mkdir()
    label_pdf(tmp_path / "two" / "a.pdf")
    result = run("check", tmp_path, "--out", tmp_path / "out")
    assert f"{tmp_path / 'two'}: left out: it holds art and no order file" in result.stderr


@pytest.mark.parametrize("width", [40, 80, 100])
def test_the_table_keeps_to_the_width(width: int) -> None:
    lines = [
        OrderSummary("P-1", "Lanternfold Recordings", "A title " * 20, verdict="query", queries=12),
        OrderSummary(None, order_file="a/very/long/way/to/an/order.toml", why=("no",)),
    ]
    text = summary_text(lines, width=width)
    assert len(text.splitlines()) == 4
    assert max(map(len, text.splitlines())) <= width


def test_a_cell_is_no_formula() -> None:
    """A title that a spreadsheet would work out (CWE-1236) is text."""
    rows = list(
        csv.reader(summary_csv([OrderSummary("P-1", title='=HYPERLINK("x")')]).splitlines())
    )
    assert rows[1][2] == '\'=HYPERLINK("x")'
