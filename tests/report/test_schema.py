"""Reports keep to the JSON Schema that is handed out, judged by the jsonschema library."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from prepcheck.cli import cli
from prepcheck.findings import Result
from prepcheck.report.json import report_text, schema_text
from tests.report.results import NOTE, SHORT, TURNED, order, part


def validator() -> Draft202012Validator:
    schema = json.loads(schema_text())
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def faults(report: dict[str, Any]) -> list[str]:
    return [error.json_path for error in validator().iter_errors(report)]


RESULTS = (
    order(part("Label A", SHORT)),
    replace(order(part("Label A", NOTE), part("B", TURNED)), findings=(TURNED,)),
    replace(order(part("Label A")), missing=("side B",), spare=("notes.pdf",), order=None),
)


@pytest.mark.parametrize("result", RESULTS)
def test_a_report_keeps_to_the_schema(result: Result) -> None:
    assert faults(json.loads(report_text(result))) == []


def test_a_key_that_is_not_promised_or_not_there_is_a_fault() -> None:
    report = json.loads(report_text(RESULTS[0]))
    del report["parts"][0]["verdict"]
    report["parts"][0]["findings"][0]["extra"] = 1
    report["verdict"] = "fine"
    assert sorted(faults(report)) == ["$.parts[0]", "$.parts[0].findings[0]", "$.verdict"]


def test_the_command_prints_the_schema_that_ships() -> None:
    done = CliRunner().invoke(cli, ["report-schema"])
    assert done.exit_code == 0
    assert json.loads(done.stdout) == json.loads(schema_text())
