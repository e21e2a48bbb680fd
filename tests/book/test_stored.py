"""Records come back from JSON as they went in."""

from __future__ import annotations

import json
from dataclasses import dataclass

import pytest

from prepcheck.book.stored import from_json, storable, to_json
from prepcheck.findings import (
    Finding,
    Mark,
    OrderFacts,
    Outcome,
    PartResult,
    Result,
    Severity,
    Status,
)
from prepcheck.geometry import Box, Point


def _result() -> Result:
    mark = Mark(Box(-1.5, 2.0, 3.25, 4.0), "here", (Point(0.0, 1.0), Point(2.0, 3.5)), 0.1)
    found = Finding(
        "bleed.short", Severity.STOP, "Bleed of 1,2 mm\0 \ud83d", "more", "s", 2, 1.2, "3 mm", "mm",
        (mark, Mark(Box(0.0, 0.0, 1.0, 1.0))),
    )  # fmt: skip
    part = PartResult(
        "Label A", "a.pdf", "0" * 64, 12, None, "size", 1, (106.0, 106.0), None,
        (Outcome("bleed.short", Status.STOP, "why", 1.2, None, "mm"),), (found,),
        {"type_mm": 2.0, "inks": ("Black", "Rust"), "none": None, "word": "x"}, "A",
    )  # fmt: skip
    return Result("1.0", OrderFacts("TR-1", discs=2), (part,), (), (), ("Jacket",))


def test_a_result_comes_back_as_it_was() -> None:
    said = _result()
    text = to_json(said)
    assert text.isascii()
    assert "\0" not in text
    back = from_json(Result, text)
    assert back == said
    assert isinstance(back.parts[0].findings[0].where[0].box, Box)
    assert to_json(back) == text


def test_what_an_earlier_version_did_not_know_has_its_default() -> None:
    table = json.loads(to_json(_result().parts[0].findings[0]))
    del table["code"]
    table["of a later version"] = 1
    assert from_json(Finding, json.dumps(table)) == _result().parts[0].findings[0]


def test_what_is_no_record_is_refused() -> None:
    @dataclass(frozen=True)
    class Small:
        number: int

    with pytest.raises(ValueError, match="not a Small"):
        from_json(Small, "{}")


def test_text_that_no_database_holds_is_made_so() -> None:
    assert storable("a\0b") == "a\ufffdb"
    storable("\udcff \ud83d").encode("utf-8")
