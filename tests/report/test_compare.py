"""A comparison's letter, proof, console and report: one run of numbers, nothing left out."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace

from pypdf import PdfReader

from prepcheck.comparison import Change, Comparison, Fate, PageChanges, PartChanges, in_one_run
from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Box
from prepcheck.numbering import numbered
from prepcheck.proof.compare_pages import comparison_leaves
from prepcheck.proof.model import ComparedPart
from prepcheck.proof.write import document
from prepcheck.report.compare import comparison_console, comparison_text
from prepcheck.report.compare_letter import comparison_letter
from tests.proof.made_up import MADE_ON
from tests.report.results import NOTE, SHORT, TURNED, order, part

LACKING = Finding(
    "order.text", Severity.QUERY, "'FWT 012' could not be read.", "Please look.", "the order",
)  # fmt: skip


def compared() -> Comparison:
    """Label A came again with one finding cured, one still there and one new; B did not come."""
    old = numbered(order(part("Label A", SHORT, TURNED), part("Label B", TURNED, file="b.pdf")))
    new = numbered(replace(order(part("Label A", NOTE, TURNED)), findings=(LACKING,)))
    (was, waits), (now,) = old.parts, new.parts
    changes = (
        Change(Box(0, 0, 4, 2), 8.0, ("Black",), asked=True),
        Change(Box(9, 9, 12, 10), 3.0, ("Cyan",), asked=False),
    )
    page = PageChanges(1, 2, 11.0, ("Black", "Cyan"), changes)
    fate = Fate((was.findings[0],), ((was.findings[1], now.findings[1]),), (now.findings[0],))
    return in_one_run(
        Comparison(
            old,
            new,
            (
                PartChanges("Label A", was, now, (page,), fate),
                PartChanges("Label B", waits, None, (), Fate(open=waits.findings)),
            ),
            Fate(new=new.findings),
        )
    )


def test_letter_proof_console_and_report_have_the_same_numbers() -> None:
    """The order first, then what must be decided file by file, notes last."""
    comparison = compared()
    table = json.loads(comparison_text(comparison))
    a, b = (one["findings"] for one in table["parts"])
    told = [
        table["findings"]["new"][0]["number"],
        a["still"][0]["number"],
        b["open"][0]["number"],
        a["new"][0]["number"],
    ]
    assert told == [1, 2, 3, 4]
    assert a["cured"][0]["number"] == 0
    letter = comparison_letter(comparison)
    assert re.findall(r"^ ?(\d+)\. ", letter, re.M) == ["1", "2", "3"]
    console = comparison_console(comparison)
    rows = re.findall(r"^(New|Still|Open|Cured) +(?:QUERY|STOP|note) +(\d+)?", console, re.M)
    assert rows == [("New", "1"), ("Cured", ""), ("Still", "2"), ("New", "4"), ("Open", "3")]
    parts = [ComparedPart(changes, None) for changes in comparison.parts]
    data = document(list(comparison_leaves(comparison, parts, MADE_ON)), "x", "0.1.0", MADE_ON)
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    assert re.findall(r"^(\d+) (?:QUERY|STOP|NOTE)", text, re.M) == ["1", "4", "2", "3"]


def test_what_is_still_open_stands_on_the_cover_and_in_its_count() -> None:
    comparison = compared()
    parts = [ComparedPart(changes, None) for changes in comparison.parts]
    data = document(list(comparison_leaves(comparison, parts, MADE_ON)), "x", "0.1.0", MADE_ON)
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]
    cover = " ".join(" ".join(pages).split())
    assert "1 part looked at again, 1 not sent again: 3 queries, 1 note" in cover
    assert "Still open, since it was not sent again: 1 finding" in cover
    assert "3 points need a decision from you" in " ".join(comparison_letter(comparison).split())


def test_changes_that_nobody_asked_for_are_told_apart() -> None:
    text = comparison_console(compared())
    assert "1 of them lies where nothing was found before" in " ".join(text.split())
    unasked = [line for line in text.splitlines() if line.endswith("nobody asked for it")]
    assert [line.split()[0] for line in unasked] == ["b."]
    assert max(map(len, comparison_console(compared(), 40).splitlines())) <= 40
