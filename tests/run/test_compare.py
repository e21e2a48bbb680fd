"""Comparisons end to end: a known shift and a known box, on PDFs whose places are given in mm."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from prepcheck.cli import cli
from prepcheck.comparison import page_words
from prepcheck.errors import ExitCode, UnreadableError, UsageError
from prepcheck.intake.comparing import compare
from prepcheck.proof.model import ComparedPage
from prepcheck.report.compare import comparison_console, comparison_text
from prepcheck.run import pair
from prepcheck.run.compare import write_compared
from prepcheck.run.settings import Resolution
from prepcheck.spec.load import load_spec
from tests.factories import one_page
from tests.run.art import QUICK, label_pdf, order_toml

pytestmark = pytest.mark.usefixtures("no_pictures")

DAY = date(2026, 4, 17)
EXACT = replace(QUICK, compare=Resolution(254.0, 2e6))
"""Ten pixels a mm."""


def label(
    path: Path,
    *,
    right: float = 0.0,
    bar: float = 12.0,
    extra: str = "",
    turn: float = 0.0,
    scale: float = 1.0,
) -> Path:
    """Write a label 100 mm wide: bars, one of which is `bar` mm long, all moved by `right` mm, then
    turned (degrees, anticlockwise) and scaled about the centre."""
    cos, sin = scale * math.cos(math.radians(turn)), scale * math.sin(math.radians(turn))
    about = f"{cos} {sin} {-sin} {cos} {53 * (1 - cos + sin)} {53 * (1 - cos - sin)} cm"
    bars = "".join(f"{20 + 5 * i} {28 + 3 * i} 8 1.2 re f\n" for i in range(8))
    content = (
        f"0 0.2 0.4 0 k -9 -9 130 130 re f\n{about} 1 0 0 1 {right} 0 cm 0 0 0 1 k\n{bars}"
        f"40 70 {bar} 6 re f\n{extra}"
    )
    path.write_bytes(
        one_page(content, (106, 106), trim_mm=(3, 3, 103, 103), bleed_mm=(0, 0, 106, 106))
    )
    return path


def test_a_shift_of_a_fifth_of_a_millimetre_is_said_and_taken_out(tmp_path: Path) -> None:
    old, new = label(tmp_path / "old.pdf"), label(tmp_path / "new.pdf", right=0.2)
    (part,) = compare(old, new, settings=EXACT).comparison.parts
    (page,) = part.pages
    assert page.shift is not None
    assert page.shift.aligned
    assert (page.shift.x_mm, page.shift.y_mm) == pytest.approx((0.2, 0.0), abs=0.01)
    assert page.places == 0


def test_a_larger_shift_is_said_and_left_in(tmp_path: Path) -> None:
    old, new = label(tmp_path / "old.pdf"), label(tmp_path / "new.pdf", right=2.0)
    (page,) = compare(old, new, settings=EXACT).comparison.parts[0].pages
    assert page.shift is not None
    assert not page.shift.aligned
    assert page.shift.x_mm == pytest.approx(2.0, abs=0.02)
    assert page.places > 0


MARKS = "".join(f"{12 + 9 * i} {14 + 9 * j} 3 2 re f\n" for i in range(9) for j in range(9))
"""Marks over the whole label, by which a turn can be told."""


@pytest.mark.parametrize(
    ("turn", "scale", "words"),
    [
        (0.1, 1.0, "turned by 0.10° anticlockwise"),
        (-0.15, 0.998, "turned by 0.15° clockwise and scaled to 99.80 %"),
        (0.0, 0.999, "scaled to 99.90 %"),
        (0.0, 1.004, "scaled to 100.40 %"),
    ],
)
def test_a_small_turn_or_scale_is_said_and_taken_out(
    turn: float, scale: float, words: str, tmp_path: Path
) -> None:
    old = label(tmp_path / "old.pdf", extra=MARKS)
    new = label(tmp_path / "new.pdf", extra=MARKS, turn=turn, scale=scale)
    comparison = compare(old, new, settings=EXACT).comparison
    (page,) = comparison.parts[0].pages
    assert page.turned is not None
    assert page.turned.aligned
    assert page.turned.degrees == pytest.approx(turn, abs=0.01)
    assert page.turned.scale == pytest.approx(scale, abs=0.0002)
    assert page.places == 0
    told = " ".join(comparison_console(comparison).split())
    assert "which was taken out before comparing." in told
    (table,) = json.loads(comparison_text(comparison))["parts"][0]["pages"]
    assert table["turned_degrees"] == pytest.approx(turn, abs=0.01)
    assert table["scaled_percent"] == pytest.approx(100 * scale, abs=0.02)
    assert table["turned_and_scaled_aligned"] is True
    said = str(replace(page.turned, degrees=turn, scale=scale))
    assert said == words


def test_a_box_changed_under_a_turn_and_a_scale(tmp_path: Path) -> None:
    """A box whose lower left corner is 60, 40 from the page's, 7, -13 from the centre."""
    old = label(tmp_path / "old.pdf", extra=MARKS)
    extra = f"{MARKS}0 1 0.4 0 k 60 40 5 4 re f"
    new = label(tmp_path / "new.pdf", extra=extra, turn=0.1, scale=0.999)
    (page,) = compare(old, new, settings=EXACT).comparison.parts[0].pages
    assert [change.box for change in page.changes] == [
        pytest.approx((7.0, -13.0, 12.0, -9.0), abs=0.2)
    ]


@pytest.mark.parametrize(("turn", "scale"), [(0.5, 1.0), (0.0, 0.99)])
def test_a_larger_turn_or_scale_is_said_and_left_in(
    turn: float, scale: float, tmp_path: Path
) -> None:
    old = label(tmp_path / "old.pdf", extra=MARKS)
    new = label(tmp_path / "new.pdf", extra=MARKS, turn=turn, scale=scale)
    (page,) = compare(old, new, settings=EXACT).comparison.parts[0].pages
    assert page.turned is not None
    assert not page.turned.aligned
    assert page.turned.degrees == pytest.approx(turn, abs=0.02)
    assert page.turned.scale == pytest.approx(scale, abs=0.0005)
    assert page.places > 0


def test_a_changed_box_and_its_ink(tmp_path: Path) -> None:
    """A magenta box of 5 × 4 mm with its lower left corner 60, 40 from the page's: in the
    piece's frame, whose origin is at 53, 53, that is 7, -13."""
    old = label(tmp_path / "old.pdf")
    new = label(tmp_path / "new.pdf", extra="0 1 0.4 0 k 60 40 5 4 re f")
    (page,) = compare(old, new, settings=EXACT).comparison.parts[0].pages
    (change,) = page.changes
    assert change.box == pytest.approx((7.0, -13.0, 12.0, -9.0), abs=0.1)
    assert change.area_mm2 == pytest.approx(20.0, abs=0.5)
    assert change.inks == ("Magenta",)
    assert page.shift is None


def test_a_bar_grown_under_a_shift(tmp_path: Path) -> None:
    """The bar from x 40 to 52 grows to 55 and moves by 0.2: 3 mm are new, up to x 2.2."""
    old, new = label(tmp_path / "old.pdf"), label(tmp_path / "new.pdf", right=0.2, bar=15.0)
    (page,) = compare(old, new, settings=EXACT).comparison.parts[0].pages
    (change,) = page.changes
    assert change.box.x1 == pytest.approx(2.2, abs=0.2)
    assert change.box.width == pytest.approx(3.0, abs=0.3)
    assert change.box.height == pytest.approx(6.0, abs=0.3)


def test_findings_are_told_apart(tmp_path: Path) -> None:
    old, new = label_pdf(tmp_path / "a.pdf", bleed=0.0), label_pdf(tmp_path / "b.pdf")
    compared = compare(old, new, spec="label-12in", settings=QUICK)
    (part,) = compared.comparison.parts
    assert "bleed.missing" in {finding.check for finding in part.fate.cured}
    assert part.fate.new == ()
    assert compared.comparison.verdict == "clear"


def orders(folder: Path) -> tuple[Path, Path]:
    """Write two orders: side B comes in the second, the jacket is in neither."""
    for name in ("one", "two"):
        (folder / name).mkdir()
        label(folder / name / "a.pdf", bar=12.0 if name == "one" else 14.0)
        label(folder / name / "b.pdf", bar=30.0)
    side = '[[part]]\nname = "Label {0}"\nside = "{0}"\nfile = "{1}.pdf"\n'
    one = order_toml(folder / "one", side.format("A", "a"))
    return one, order_toml(folder / "two", side.format("A", "a") + side.format("B", "b"))


def test_orders_by_the_names_of_their_parts(tmp_path: Path) -> None:
    compared = compare(*orders(tmp_path), settings=QUICK)
    a, b = compared.comparison.parts
    assert (a.name, b.name) == ("Label A", "Label B")
    assert a.pages[0].places == 1
    assert (b.before, b.pages) == (None, ())
    cured = {finding.check for finding in compared.comparison.order.cured}
    assert "order.missing-part" in cured


def test_the_same_file_is_not_drawn(tmp_path: Path) -> None:
    path = label(tmp_path / "a.pdf")
    (part,) = compare(path, path, settings=QUICK).comparison.parts
    assert part.same_file
    assert part.pages == ()


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    broken = tmp_path / "broken.pdf"
    broken.write_bytes(b"%PDF-1.4 and nothing more")
    compared = compare(label(tmp_path / "a.pdf"), broken, spec="label-12in", settings=QUICK)
    (page,) = compared.comparison.parts[0].pages
    assert page.unlike is not None
    assert compared.comparison.verdict == "stop"


def test_the_pieces_differ(tmp_path: Path) -> None:
    old = label_pdf(tmp_path / "a.pdf")
    new = label_pdf(tmp_path / "b.pdf", trim=92.0)
    broad = compare(old, old, spec="label-12in", settings=QUICK)
    assert broad.comparison.parts[0].same_file
    other = tmp_path / "own.toml"
    other.write_text(
        'name="own"\ntitle="x"\nextends="label-7in"\nformat="12-inch"\n', encoding="utf-8"
    )
    one = order_toml(tmp_path, '[[part]]\nname="L"\nfile="a.pdf"\nspec="label-12in"', name="1.toml")
    two = order_toml(tmp_path, '[[part]]\nname="L"\nfile="b.pdf"\nspec="own.toml"', name="2.toml")
    (page,) = compare(one, two, settings=QUICK).comparison.parts[0].pages
    assert page.unlike is not None
    assert "different size" in page.unlike
    assert new.exists()


def test_outputs(tmp_path: Path) -> None:
    compared = compare(*orders(tmp_path), settings=QUICK)
    proof, report = tmp_path / "out" / "c.pdf", tmp_path / "out" / "c.json"
    write_compared(compared, proof=proof, report=report, made_on=DAY)
    table = json.loads(report.read_text(encoding="utf-8"))
    assert table["schema"] == "prepcheck-compare/1"
    assert report.read_text(encoding="utf-8") == comparison_text(compared.comparison)
    change = table["parts"][0]["pages"][0]["changes"][0]
    assert change["where"]["w"] == pytest.approx(2.0, abs=0.4)
    assert table["parts"][1]["old"] is None
    pages = [page.extract_text() for page in PdfReader(proof).pages]
    assert "WHAT HAS CHANGED" in pages[0]
    assert "Cured" in " ".join(pages)
    assert all(word in pages[-1] for word in ("BEFORE", "AFTER", "DIFFERENCE"))
    text = comparison_console(compared.comparison)
    assert max(map(len, text.splitlines())) <= 80
    assert "Cured" in text
    with pytest.raises(UsageError, match="overwritten"):
        write_compared(compared, proof=tmp_path / "one" / "a.pdf", report=None, made_on=DAY)


def test_the_command(tmp_path: Path) -> None:
    old, new = label_pdf(tmp_path / "a.pdf", bleed=0.0), label_pdf(tmp_path / "b.pdf")
    arguments = [str(old), str(new), "--spec", "label-12in", "--out", str(tmp_path / "out")]
    result = CliRunner().invoke(cli, ["compare", *arguments])
    assert result.exit_code == ExitCode.CLEAR, result.output
    assert "cured" in result.output
    assert (tmp_path / "out" / "b-compare.pdf").exists()
    back = [arguments[1], arguments[0], *arguments[2:], "--quiet", "--letter", "-"]
    result = CliRunner().invoke(cli, ["compare", *back])
    assert result.exit_code == ExitCode.STOP
    assert "With kind regards" in result.output, "the letter, and nothing else"
    assert "Findings:" not in result.output
    both = CliRunner().invoke(cli, ["compare", *arguments, "--letter", "-", "--json", "-"])
    assert both.exit_code == ExitCode.USAGE
    assert CliRunner().invoke(cli, ["compare", "no.pdf", str(new)]).exit_code == ExitCode.USAGE


def test_the_proof_and_the_report_are_written_where_asked_for(tmp_path: Path) -> None:
    """Paths may be text; what is written is what the command writes."""
    old, new = label(tmp_path / "old.pdf"), label(tmp_path / "new.pdf", bar=9.0)
    proof, report = tmp_path / "changes.pdf", tmp_path / "changes.json"
    done = compare(
        str(old), str(new), proof=str(proof), report=str(report), made_on=DAY, settings=QUICK
    )
    assert report.read_text() == comparison_text(done.comparison)
    assert len(PdfReader(proof).pages) == 2
    with pytest.raises(UsageError):
        compare(old, new, report=new, settings=QUICK)


def test_a_page_that_fails_while_it_is_compared_costs_itself_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> ComparedPage:
        raise UnreadableError("new.pdf: page 1 cannot be drawn; export it again")

    monkeypatch.setattr(pair, "_compared", fails)
    old, new = label(tmp_path / "old.pdf"), label(tmp_path / "new.pdf")
    spec = load_spec("label-12in")
    (page,) = pair.compare_pair(pair.PairTask(old, new, spec, spec)).pages
    assert page.changes.unlike is not None
    assert "cannot be drawn" in page.changes.unlike


def squares(path: Path, seed: int) -> Path:
    """Write a label half covered with squares of 6 mm, laid out by `seed`."""
    chosen = Random(seed)
    places = [(x, y) for x in range(0, 106, 6) for y in range(0, 106, 6) if chosen.random() < 0.5]
    return label(path, extra="0 0 0 0.9 k\n" + "".join(f"{x} {y} 6 6 re f\n" for x, y in places))


def test_another_record_is_said_and_a_corrected_one_is_not(tmp_path: Path) -> None:
    old = squares(tmp_path / "old.pdf", 1)
    for name, new, another in (
        ("other", squares(tmp_path / "other.pdf", 2), True),
        ("same", label(tmp_path / "same.pdf", bar=20.0), False),
    ):
        before = old if another else label(tmp_path / "before.pdf")
        (page,) = compare(before, new, settings=QUICK).comparison.parts[0].pages
        assert page.another is another, name
        assert ("another record" in page_words(page)) is another


def test_part_of_an_order_leaves_the_rest_open(tmp_path: Path) -> None:
    """Label B without bleed is not sent again: its finding stands, though the new one is clear."""
    (tmp_path / "one").mkdir()
    label_pdf(tmp_path / "one" / "a.pdf", bleed=0.0)
    label_pdf(tmp_path / "one" / "b.pdf", bleed=0.0)
    side = '[[part]]\nname = "Label {0}"\nside = "{0}"\nfile = "{1}.pdf"\nspec = "label-12in"\n'
    old = order_toml(tmp_path / "one", side.format("A", "a") + side.format("B", "b"))
    new = label_pdf(tmp_path / "a.pdf")
    letter = tmp_path / "letter.txt"
    compared = compare(old, new, spec="label-12in", letter=letter, settings=QUICK).comparison
    a, b = compared.parts
    assert "bleed.missing" in {f.check for f in a.fate.cured}
    assert (b.after, b.fate.cured) == (None, ())
    assert "bleed.missing" in {f.check for f in b.fate.open}
    assert compared.order.cured == ()
    assert a.after is not None
    assert (a.after.findings, compared.verdict) == ((), "stop")
    assert "Thank you for putting right" in letter.read_text()
    assert "We have looked at 1 file." in " ".join(letter.read_text().split())
    assert "b.pdf" in letter.read_text()


def test_what_two_files_have_done_together_is_open_until_both_come_again(tmp_path: Path) -> None:
    """Both labels are one file; sending another for one of them alone tells nothing of both."""
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    side = '[[part]]\nname = "Label {0}"\nside = "{0}"\nfile = "{1}.pdf"\nspec = "label-12in"\n'
    for name in ("a", "b"):
        label(tmp_path / "one" / f"{name}.pdf")
    label(tmp_path / "two" / "b.pdf", bar=16.0)
    old = order_toml(tmp_path / "one", side.format("A", "a") + side.format("B", "b"))
    new = order_toml(tmp_path / "two", side.format("B", "b"))
    compared = compare(old, new, settings=QUICK).comparison
    assert "order.same-art" in {f.check for f in compared.order.open}
    assert "order.same-art" not in {f.check for f in compared.order.cured}
    label(tmp_path / "two" / "a.pdf")
    new = order_toml(tmp_path / "two", side.format("A", "a") + side.format("B", "b"))
    compared = compare(old, new, settings=QUICK).comparison
    assert "order.same-art" in {f.check for f in compared.order.cured}


def test_single_files_as_a_part_of_their_order(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    label(tmp_path / "one" / "a.pdf")
    side = '[[part]]\nname = "Label A"\nside = "A"\nfile = "a.pdf"\n'
    order = order_toml(tmp_path / "one", side)
    new = label(tmp_path / "a-2.pdf", bar=16.0)
    compared = compare(tmp_path / "one" / "a.pdf", new, order=order, settings=QUICK).comparison
    (part,) = compared.parts
    assert part.name == "Label A"
    assert part.pages[0].places == 1
    assert {o.check for o in compared.new.outcomes} >= {"order.text", "order.swapped"}
