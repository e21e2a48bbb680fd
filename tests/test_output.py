"""What an output may replace: only what prepcheck wrote."""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.errors import UsageError
from prepcheck.output import is_ours, refuse_inputs
from prepcheck.run.examine import inspect
from tests.run.art import QUICK, label_pdf, tiff, two_labels

OPTIONS = ("proof", "report", "letter")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("written")
    inspect(
        two_labels(folder), settings=QUICK,
        proof=folder / "proof", report=folder / "report", letter=folder / "letter",
    )  # fmt: skip
    return folder


@pytest.mark.parametrize("name", OPTIONS)
def test_outputs_are_known_whatever_their_names(written: Path, name: str) -> None:
    assert is_ours(written / name)


def strangers(folder: Path) -> list[Path]:
    texts = {
        "letter.txt": "Hello,\n\nthank you.\n\nWith kind regards\n",
        "report.json": '{"schema": "something-else/1"}',
        "table.csv": "order,client\n1,2\n",
        "empty": "",
        "talks.txt": "Written with prepcheck 0.1.0\nand then by me\n",
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    art = label_pdf(folder / "art.pdf")
    named = folder / "named.pdf"
    named.write_bytes(art.read_bytes() + b"\n% (prepcheck is a word here)")
    return [art, named, tiff(folder / "art.tif", 30, 100), *(folder / name for name in texts)]


def test_nothing_else_is_taken_for_ours(tmp_path: Path) -> None:
    assert [path.name for path in strangers(tmp_path) if is_ours(path)] == []


@pytest.mark.parametrize("option", OPTIONS)
def test_no_output_replaces_what_prepcheck_did_not_write(tmp_path: Path, option: str) -> None:
    order = two_labels(tmp_path)
    for stranger in strangers(tmp_path):
        before = stranger.read_bytes()
        with pytest.raises(UsageError, match="did not write this file"):
            inspect(order, settings=QUICK, **{option: stranger})  # type: ignore[arg-type]
        assert stranger.read_bytes() == before


def test_own_outputs_are_replaced(written: Path, tmp_path: Path) -> None:
    refuse_inputs([written / name for name in OPTIONS], [tmp_path / "a.pdf"])


def test_two_outputs_of_one_name_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="two outputs"):
        refuse_inputs([tmp_path / "x", tmp_path / "." / "x"], [])
