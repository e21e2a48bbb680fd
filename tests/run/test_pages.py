"""Files whose pages are each one complete piece. Truth by construction: the labels' type is set by
ReportLab, which shares no code with our reader."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner

from prepcheck.art.open import open_art
from prepcheck.cli import cli
from prepcheck.findings import Severity
from prepcheck.geometry import Point
from prepcheck.order import load_order
from prepcheck.run.answer import Sharing
from prepcheck.run.examine import inspect
from prepcheck.run.pages import Chosen, barcodes_of, page_of, pages_apart
from prepcheck.spec.load import load_spec, spec_names
from tests.checks.barcodes import EAN, Bars, modules_of, sleeve_pdf, spec_with_barcode
from tests.factories import Pdf
from tests.intake.labels import label_pages, order_of, side_lines
from tests.run.art import QUICK

LABEL = load_spec("label-12in")
SHIPPED = tuple(load_spec(name) for name in spec_names())
NOTHING = ["Lanternfold"]


def chosen(
    folder: Path, pages: Sequence[Sequence[str]], sides: str = "AB", taken: tuple[int, ...] = ()
) -> list[Chosen | None]:
    """Return which page each side is, of a file with these lines of type on its pages."""
    (folder / "labels.pdf").write_bytes(label_pages(pages))
    order = load_order(order_of(folder, "ABCD"))
    parts = tuple(part for part in order.part if part.side in sides)
    sharing = Sharing(parts, tuple((LABEL,) for _ in parts), taken)
    art = open_art(folder / "labels.pdf")
    return [page_of(art, order, part, sharing) for part in parts]


@pytest.mark.parametrize(
    ("pages", "found", "why"),
    [
        ([side_lines("A"), side_lines("B")], (1, 2), "it says side A"),
        ([side_lines("B"), side_lines("A")], (2, 1), "it says side A"),
        ([["Side Two"], ["Side One"]], (2, 1), "it says side A"),
        ([["Owl Ledger"], ["Lamps Out at Nine"]], (2, 1), "it carries 'Lamps Out at Nine'"),
        ([NOTHING, NOTHING], (1, 2), "by the order of the pages"),
        ([NOTHING, ["Side A"]], (2, 1), "it says side A"),
        ([["Side A"], ["Side A"]], (1, 2), "it says side A"),
    ],
)
def test_by_side_then_texts_then_order(
    tmp_path: Path, pages: list[list[str]], found: tuple[int, int], why: str
) -> None:
    first, second = chosen(tmp_path, pages)
    assert first is not None
    assert second is not None
    assert (first.page, second.page) == found
    assert why in first.why
    assert first.left == second.left == ()


def test_pages_that_do_not_add_up(tmp_path: Path) -> None:
    three = [side_lines("B"), NOTHING, side_lines("A")]
    both = chosen(tmp_path, three)
    assert [(c.page, c.left) for c in both if c] == [(3, (2,)), (1, (2,))]
    (only,) = chosen(tmp_path, three, "B", taken=(2, 3))
    assert only == Chosen(1, "it says side B; it carries 'Owl Ledger'")
    four = chosen(tmp_path, three[::2], "ABC")
    assert [c and c.page for c in four] == [2, 1, None]


@pytest.mark.parametrize(
    ("pages", "apart"),
    [
        ([["Side A"], ["Side B"]], (1, 2)),
        ([NOTHING, NOTHING], (1, 2)),
        ([["Side A"], ["Side A"]], ()),
        ([["Side A"]], ()),
    ],
)
def test_loose_pages(tmp_path: Path, pages: list[list[str]], apart: tuple[int, ...]) -> None:
    (tmp_path / "a.pdf").write_bytes(label_pages(pages))
    assert pages_apart(open_art(tmp_path / "a.pdf"), SHIPPED) == apart


@pytest.mark.parametrize(
    ("specs", "apart"),
    [
        (("gatefold-12in", "gatefold-12in"), ()),
        (("insert-12in", "label-12in"), (1, 2)),
        (("label-12in", None), ()),
    ],
    ids=["a gatefold's two faces", "an insert and a label", "a size that is no piece's"],
)
def test_loose_pages_of_other_pieces(
    tmp_path: Path, specs: tuple[str | None, ...], apart: tuple[int, ...]
) -> None:
    pdf = Pdf()
    for name in specs:
        box = None if name is None else load_spec(name).outline_of(0).bounds
        width, height = (111.0, 77.0) if box is None else (box.width, box.height)
        pdf.page("", (width + 6, height + 6), trim_mm=(3, 3, width + 3, height + 3))
    (tmp_path / "a.pdf").write_bytes(pdf.bytes())
    assert pages_apart(open_art(tmp_path / "a.pdf"), SHIPPED) == apart


def grave(folder: Path, pages: Sequence[Sequence[str]], page_a: int | None = None) -> list[str]:
    """Return what is found in an order whose two labels are one file."""
    (folder / "labels.pdf").write_bytes(label_pages(pages))
    path = order_of(folder, "AB", files={"A": "labels.pdf", "B": "labels.pdf"})
    if page_a is not None:
        text = path.read_text("utf-8").replace('labels.pdf"', f'labels.pdf"\npage = {page_a}', 1)
        path.write_text(text, encoding="utf-8")
    result = inspect(path, settings=QUICK)
    recognised = [part.recognised_by for part in result.parts]
    assert page_a is not None or "of labels.pdf: it says side" in recognised[0]
    about = ("file.pages", "order.same-art", "order.swapped", "order.missing-part")
    return [f.check for f in result.every if f.check in about and f.severity is not Severity.NOTE]


def test_an_order_that_says_no_page(tmp_path: Path) -> None:
    assert grave(tmp_path, [side_lines("B"), side_lines("A")]) == []


def test_an_order_that_says_one_of_two_pages(tmp_path: Path) -> None:
    assert grave(tmp_path, [side_lines("B"), side_lines("A")], page_a=2) == []


def test_a_page_too_many_is_one_finding(tmp_path: Path) -> None:
    assert grave(tmp_path, [side_lines("B"), NOTHING, side_lines("A")]) == ["file.pages"]


def test_loose_labels_in_one_file_are_a_part_each(tmp_path: Path) -> None:
    small = [["Side A"], ["Side B"]]
    (tmp_path / "labels.pdf").write_bytes(label_pages(small, trim=92.0))
    args = ["check", str(tmp_path / "labels.pdf"), "--out", str(tmp_path / "out")]
    asked = CliRunner().invoke(cli, args)
    assert asked.stderr.count("with --spec PART=NAME") == 2, "of each page"
    specs = ["--spec", "labels#1=label-7in", "--spec", "labels, page 2=label-7in-large-hole"]
    told = CliRunner().invoke(cli, [*args, *specs])
    assert told.exit_code in (0, 1, 3), told.output
    (path,) = (tmp_path / "out").glob("*.json")
    parts = json.loads(path.read_text("utf-8"))["parts"]
    assert [(part["name"], part["spec"]) for part in parts] == [
        ("labels, page 1", "label-7in"), ("labels, page 2", "label-7in-large-hole"),
    ]  # fmt: skip
    assert all(
        c["outcome"] == "clear" for p in parts for c in p["checks"] if c["check"] == "file.pages"
    )


@pytest.mark.parametrize("turn", [0, 15, 45, 90, 124, 135, 200, 225, 315, 335])
def test_the_number_of_a_symbol_is_read_however_it_is_turned(turn: float, tmp_path: Path) -> None:
    """At 80 %, the least that GS1 allows: a module of 0.264 mm, its bars by python-barcode."""
    assert numbers_on(
        tmp_path, Bars(modules_of("ean13", EAN), x=0.264, height=18.28, turn=turn)
    ) == {EAN}


def test_bars_that_only_smooth_edges_tell_are_looked_at_again(tmp_path: Path) -> None:
    """A place and a turn at which edges at whole pixels hide the number."""
    bars = Bars(
        modules_of("ean13", EAN),
        x=0.2659,
        height=16.8522,
        turn=326.0303,
        at=Point(-41.8554, 20.8812),
    )
    assert numbers_on(tmp_path, bars) == {EAN}


def numbers_on(folder: Path, bars: Bars) -> set[str]:
    path = folder / "sleeve.pdf"
    path.write_bytes(sleeve_pdf([bars], spec_with_barcode()))
    return {number for page in open_art(path).pages for number in barcodes_of(page)}
