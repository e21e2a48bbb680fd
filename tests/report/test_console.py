"""The report at a terminal: 80 columns, worst first, all of it in words."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from prepcheck.findings import Outcome, Result, Status, Verdict
from prepcheck.proof.entries import Paragraph, RuledHeading, unjudged_blocks
from prepcheck.report.console import columns_of, console_text, wrapped
from tests.report.results import NOTE, SHORT, TURNED, order, part


def test_no_line_is_wider_than_the_terminal() -> None:
    long = replace(
        SHORT,
        check="some.very-long-identifier-of-a-check",
        message="word " * 60 + "x" * 200,
        measured="Cyan, Magenta, Yellow, Black, PANTONE 021 C, PANTONE 877 C",
    )
    wide = part("レコード" * 20, long, TURNED, file=f"{'very-long-name-' * 12}.pdf")
    for width in (80, 60, 40):
        text = console_text(order(wide, part("B")), width=width, every=True)
        assert max(columns_of(line) for line in text.splitlines()) <= width


def test_parts_and_findings_come_worst_first() -> None:
    text = console_text(order(part("Clear"), part("Query", NOTE, TURNED), part("Stop", SHORT)))
    assert text.index("Stop, a.pdf") < text.index("Query, a.pdf") < text.index("Clear, a.pdf")
    assert text.index("size.rotated") < text.index("file.conformance")


def test_what_could_not_be_told_is_said_with_its_reason() -> None:
    untold = Outcome("image.enlarged", Status.NOT_APPLICABLE, "cannot be told of a picture: soft",
                     untold=True)  # fmt: skip
    one = part("Label A")
    text = console_text(order(replace(one, outcomes=(*one.outcomes, untold))), every=True)
    assert "Not told, please look: image.enlarged: cannot be told of a picture: soft." in text
    (block, said) = unjudged_blocks(replace(one, outcomes=(untold,)), 300.0)
    assert isinstance(block, RuledHeading)
    assert isinstance(said, Paragraph)


def test_it_says_what_was_measured_and_what_is_required() -> None:
    text = console_text(order(part("Label A", SHORT)))
    (row,) = [line for line in text.splitlines() if "bleed.short" in line]
    assert re.split(r"\s{2,}", row.strip()) == ["1", "STOP", "bleed.short", "1", "0.8 mm", "2 mm"]
    assert "Ink reaches only 0.8 mm" in text
    assert "Fix: Extend the background" in text
    assert "1 check clear, 1 not applicable." in text
    assert "Verdict: STOP" in text


def test_one_of_a_kind_is_counted_in_the_singular() -> None:
    text = console_text(order(part("A", replace(SHORT, measured=1.0, required=0.0, unit="lines"))))
    (row,) = [line for line in text.splitlines() if "bleed.short" in line]
    assert re.split(r"\s{2,}", row.strip())[-2:] == ["1 line", "0 lines"]


def test_the_numbers_are_those_of_the_proof() -> None:
    # Notes ask for nothing and come last, whatever comes first on the part.
    text = console_text(order(part("A", NOTE, TURNED)))
    assert re.search(r"^ +1 +QUERY +size\.rotated", text, re.M)
    assert re.search(r"^ +2 +NOTE +file\.conformance", text, re.M)


def test_a_crash_is_told_apart_from_the_art() -> None:
    text = console_text(order(part("A", crashed=True)))
    assert "CRASHED" in text
    assert "text.small: prepcheck itself failed here" in text
    assert "the result is incomplete" in text
    assert "Verdict: QUERY, INCOMPLETE" in text
    assert "CLEAR" not in text


def test_what_was_not_examined_whole_is_never_clear() -> None:
    found, failed = part("A"), part("B", crashed=True)
    assert (found.verdict, failed.verdict) == (Verdict.CLEAR, Verdict.QUERY)
    assert part("C", SHORT, crashed=True).verdict is Verdict.STOP
    result = order(found, failed)
    assert result.verdict is Verdict.QUERY
    of_order = (Outcome("order.agreement", Status.CRASHED, "it failed"),)
    assert Result("1", None, (found,), outcomes=of_order).verdict is Verdict.QUERY


def test_colour_only_adds() -> None:
    result = order(part("A", SHORT, crashed=True), part("B", NOTE))
    plain, styled = console_text(result), console_text(result, styled=True)
    assert "\x1b" not in plain
    assert re.sub(r"\x1b\[[0-9;]*m", "", styled) == plain
    assert "\x1b[1;31mSTOP" in styled


def test_loose_art() -> None:
    text = console_text(Result("0.1.0", None, (part("A"),)))
    assert not text.startswith("Order")
    assert "Verdict: CLEAR" in text


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("", 10, [""]),
        ("one two three", 7, ["one two", "three"]),
        ("a\x1b[31mb\nc", 20, ["a?[31mb c"]),
        ("abcdefghij", 4, ["abcd", "efgh", "ij"]),
        ("very-long.word", 7, ["very-", "long.", "word"]),
        ("レコード盤", 4, ["レコ", "ード", "盤"]),
    ],
)
def test_wrapping(text: str, width: int, lines: list[str]) -> None:
    assert wrapped(text, width) == lines


def test_the_order_is_said_first_and_clear_parts_take_a_line() -> None:
    turned = replace(TURNED, parts=("Label B",))
    stopped = replace(part("Label B"), of_order=(turned,))
    result = replace(order(part("Label A"), stopped, part("Bag", SHORT)), findings=(turned,))
    lines = console_text(result).splitlines()
    assert lines[1] == "Verdict: STOP  (3 parts: 1 stop, 1 query, 1 clear)"
    assert lines[2] == "Stopped by: Bag."
    text = "\n".join(lines)
    assert text.index("The order as a whole") < text.index("Bag, a.pdf") < text.index("Label B,")
    assert "QUERY of the order as a whole, see 2 there." in text
    assert lines[-1].startswith("Label A, a.pdf")
    assert lines[-1].endswith("CLEAR")
    assert text.count("Measured:") < console_text(result, every=True).count("Measured:")
