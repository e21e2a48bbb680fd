"""The JSON report: its keys, its numbers, and the same bytes for the same result."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from prepcheck.findings import Outcome, Result, Status, shared_out
from prepcheck.report.json import report_text
from tests.report.results import NOTE, SHORT, TURNED, order, part


def report(result: Result) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(report_text(result))
    return loaded


def test_keys_are_those_promised_and_in_that_order() -> None:
    whole = report(order(part("Label A", SHORT)))
    assert list(whole) == [
        "schema", "version", "verdict", "order", "parts", "checks", "findings",
    ]  # fmt: skip
    assert whole["schema"] == "prepcheck-report/1"
    (only,) = whole["parts"]
    promised = [
        "name", "file", "sha256", "bytes", "spec", "recognised_by", "verdict", "pages",
        "trim_mm", "trim_found_by", "measured", "checks", "findings",
        "order_findings",
    ]  # fmt: skip
    assert [key for key in only if key != "side"] == promised
    assert list(only["checks"][0]) == [
        "check", "title", "outcome", "measured", "required", "unit", "why",
    ]  # fmt: skip
    assert list(only["findings"][0]) == [
        "check", "severity", "page", "message", "measured", "required", "unit", "where", "fix",
        "source", "code", "subject", "limit", "parts", "to_confirm", "number",
    ]  # fmt: skip


def test_a_finding_of_the_order_counts_in_each_part_it_names() -> None:
    swapped = replace(TURNED, check="order.swapped", page=None, parts=("A", "B"))
    parts = (part("A"), part("B", NOTE), part("C"))
    named = replace(order(*(shared_out([swapped], one) for one in parts)), findings=(swapped,))
    whole = report(named)
    assert [p["verdict"] for p in whole["parts"]] == ["query", "query", "clear"]
    assert [p["order_findings"] for p in whole["parts"]] == [[0], [0], []]
    assert whole["findings"][0]["parts"] == ["A", "B"]
    assert whole["verdict"] == "query"
    assert len(named.every) == 2, "the finding is counted once, however many parts it names"


def test_numbers_have_three_decimals_and_no_negative_zero() -> None:
    text = report_text(order(part("Label A", SHORT)))
    (only,) = json.loads(text)["parts"]
    assert only["trim_mm"] == [100.0, 100.0]
    assert only["measured"] == {
        "bleed_reach_mm": 0.0,
        "inks": ["Cyan", "Black"],
        "lowest_ppi": None,
    }
    assert "-0.0" not in text
    assert only["findings"][0]["measured"] == 0.8


def test_a_place_is_lower_left_corner_and_size() -> None:
    (only,) = report(order(part("Label A", SHORT)))["parts"]
    assert only["findings"][0]["where"] == [{"x": -38.302, "y": -32.139, "w": 8.302, "h": 12.139}]


def test_verdicts_and_outcomes() -> None:
    whole = report(order(part("A", NOTE), part("B", TURNED), part("C", SHORT, TURNED)))
    assert whole["verdict"] == "stop"
    assert [p["verdict"] for p in whole["parts"]] == ["clear", "query", "stop"]
    outcomes = {check["outcome"] for p in whole["parts"] for check in p["checks"]}
    assert outcomes == {"clear", "stop", "query", "note", "not-applicable"}


def test_what_is_not_finite_is_null() -> None:
    found = replace(SHORT, measured=float("inf"), required=float("nan"))
    (only,) = report(order(part("A", found)))["parts"]
    assert only["findings"][0]["measured"] is None
    assert only["findings"][0]["required"] is None


def test_findings_on_the_order_as_a_whole_are_not_lost() -> None:
    result = replace(
        order(part("A")), findings=(TURNED,), outcomes=(Outcome("x.y", Status.CLEAR, "fine"),)
    )
    whole = report(result)
    assert whole["verdict"] == "query"
    assert [f["check"] for f in whole["findings"]] == ["size.rotated"]
    assert [c["check"] for c in whole["checks"]] == ["x.y"]


def test_loose_art_has_no_order() -> None:
    assert report(Result("0.1.0", None, (part("A"),)))["order"] is None


def test_bytes_repeat_but_for_the_version() -> None:
    one = report_text(order(part("A", SHORT), part("B")))
    shuffled = replace(part("A", SHORT), measured=dict(reversed(list(part("A").measured.items()))))
    assert report_text(order(shuffled, part("B"))) == one
    other = report_text(replace(order(part("A", SHORT), part("B")), version="9.9"))
    assert other.replace('"version": "9.9"', '"version": "0.1.0"') == one


def test_any_script_is_kept_readable() -> None:
    assert "Größe レコード" in report_text(order(part("Größe レコード")))


def test_values_that_have_no_place_in_a_report_are_refused() -> None:
    wrong = replace(part("A"), measured={"x": {1, 2}})  # type: ignore[dict-item]
    with pytest.raises(TypeError, match="set has no place in a report"):
        report_text(order(wrong))
