"""`compare` of an order, its folder or its report with what came of it: which part a file is, and
that the rest stays open. Truth by construction: sides and titles are those the labels were set
with."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from tests.intake.archives import zipped
from tests.intake.labels import label_pages, order_of, side_lines

pytestmark = pytest.mark.usefixtures("no_pictures")


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="prepcheck")


def compared(old: Path, new: Path, *more: object) -> tuple[dict[str, Any], str, int]:
    """Compare; return the parts of the report by name, what was told, and the exit code."""
    out = old.parent / "compared"
    result = run("compare", old, new, "--out", out, "--json", "-", *more)
    assert result.stdout, result.stderr
    report = json.loads(result.stdout)
    parts = {part["name"]: part for part in report["parts"]}
    return {**parts, "": report}, " ".join(result.stderr.split()), result.exit_code


def checks(part: dict[str, Any], fate: str) -> set[str]:
    return {finding["check"] for finding in part["findings"][fate]}


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Check an order both of whose labels have no bleed; return its folder, its report within."""
    folder = tmp_path_factory.mktemp("first")
    for side in "AB":
        (folder / f"{side.lower()}.pdf").write_bytes(label_pages([side_lines(side)], bleed=0.0))
    order = order_of(folder, "AB", files={"A": "a.pdf", "B": "b.pdf"})
    done = run("check", order, "--out", folder / "out", "--quiet")
    assert done.exit_code == ExitCode.STOP
    return folder


@pytest.fixture
def corrected(tmp_path: Path) -> Path:
    path = tmp_path / "neu (2).pdf"
    path.write_bytes(label_pages([side_lines("B")]))
    return path


@pytest.mark.parametrize("old", ["order.toml", "", "out/FH-2231-1-report.json", "out"])
def test_one_file_is_matched_to_its_part_and_the_rest_stays_open(
    first: Path, corrected: Path, tmp_path: Path, old: str
) -> None:
    folder = tmp_path / "first"
    shutil.copytree(first, folder)
    new = corrected
    if old:
        new = zipped(tmp_path / "new.zip", {corrected.name: corrected.read_bytes()})
    parts, told, code = compared(folder / old, new)
    assert "is taken as Label B" in told
    assert "it says side B" in told
    assert "bleed.missing" in checks(parts["Label B"], "cured")
    assert parts["Label B"]["pages"][0]["places"] > 0
    assert parts["Label A"]["new"] is None
    assert "bleed.missing" in checks(parts["Label A"], "open")
    assert parts["Label A"]["findings"]["cured"] == []
    assert code == ExitCode.STOP


def test_a_report_alone_tells_what_became_of_its_findings(
    first: Path, corrected: Path, tmp_path: Path
) -> None:
    for name in ("out/FH-2231-1-report.json", "order.toml"):
        shutil.copy(first / name, tmp_path)
    report = tmp_path / "FH-2231-1-report.json"
    parts, _, code = compared(report, corrected)
    assert "bleed.missing" in checks(parts["Label B"], "cured")
    assert parts["Label B"]["pages"][0]["not_compared"] == "the earlier file is not here any more"
    assert "bleed.missing" in checks(parts["Label A"], "open")
    assert code == ExitCode.STOP
    (tmp_path / "order.toml").rename(tmp_path / "elsewhere.toml")
    lost = run("compare", report, corrected)
    assert lost.exit_code == ExitCode.USAGE
    assert "name it with --order" in lost.stderr
    found = run("compare", report, corrected, "--order", tmp_path / "elsewhere.toml", "--quiet",
                "--out", tmp_path / "out")  # fmt: skip
    assert found.exit_code == ExitCode.STOP


def test_a_file_that_may_be_several_parts_is_asked_about(first: Path, tmp_path: Path) -> None:
    plain = tmp_path / "plain.pdf"
    plain.write_bytes(label_pages([[]]))
    parts, told, _ = compared(first / "order.toml", plain)
    assert "plain.pdf may be Label A or Label B; say which with --as" in told
    assert parts["Label A"]["new"] is parts["Label B"]["new"] is None
    assert {f["code"] for f in parts[""]["findings"]["new"]} >= {"which-file"}
    parts, told, _ = compared(first / "order.toml", plain, "--as", "plain.pdf=Label B")
    assert parts["Label B"]["new"]["file"] == "plain.pdf"
    assert "bleed.missing" in checks(parts["Label B"], "cured")


def test_loose_files_are_told_apart(first: Path, corrected: Path, tmp_path: Path) -> None:
    folder = tmp_path / "loose"
    folder.mkdir()
    for name in ("a.pdf", "b.pdf"):
        shutil.copy(first / name, folder)
    parts, told, _ = compared(folder, corrected)
    assert "is taken as b" in told
    assert parts[corrected.stem]["old"]["file"] == "b.pdf"
    assert "bleed.missing" in checks(parts["a"], "open")
