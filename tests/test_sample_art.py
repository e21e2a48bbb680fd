"""The sample art against its manifest: every planted fault is found with its true number.

The truth is by construction: `sample_art/make.py` drew each fault at a known place and size and
wrote both down. It shares no code with what is tested here.
"""

from __future__ import annotations

import json
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from prepcheck.findings import PartResult, Result
from prepcheck.judging.registry import declarations
from prepcheck.report.json import report_text
from prepcheck.report.letter import letter_text
from prepcheck.run.examine import inspect
from tests.report.counts import asked_in_letter, counts_of, counts_of_parts
from tests.wording import faults_of, faults_of_sentence

ART = Path(__file__).parents[1] / "sample_art"
MANIFEST = tomllib.loads((ART / "manifest.toml").read_text())
FAULTS: list[dict[str, Any]] = MANIFEST["fault"]
SOUND: list[dict[str, Any]] = MANIFEST["sound"]

TOLERANCE = {"mm": 0.1, "ppi": 1.0, "pt": 0.05, "%": 1.0, "×": 0.01, "°": 0.5}
"""How far a number may be off, by unit."""
TOLERANCE_MM2 = 0.02
"""An area may be off by a share of it: its rim is known to half a pixel."""
ESTIMATE = {"image.enlarged": 0.15}
"""The true resolution of an enlarged picture is estimated: a share of it may be missed."""
FINE_LINE = {"line.thin": 0.005, "ink.small-type": 0.005}
"""0.1 mm would be no test of a line of 0.1 mm."""
PLACE_MM = 3.0
"""How far outside a finding's places the planted point may lie."""


@cache
def inspected(source: str, spec: str | None) -> Result:
    return inspect(ART / source, spec=spec, jobs=2)


def part_of(file: str, spec: str) -> PartResult:
    """Return what is said of a file: as part of its order, or by itself."""
    folder, _, name = file.partition("/")
    alone = folder in ("single", "templates")
    result = inspected(file, spec) if alone else inspected(f"{folder}/order.toml", None)
    (part,) = (part for part in result.parts if Path(part.file).name == name)
    return part


def findings(fault: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the findings of the fault's check, as the report has them: on its file and page, or
    on the order as a whole."""
    if fault["file"].endswith("order.toml"):
        said = json.loads(report_text(inspected(fault["file"], None)))["findings"]
    else:
        part = part_of(fault["file"], fault["spec"])
        said = json.loads(report_text(Result("", None, (part,))))["parts"][0]["findings"]
    found = [f for f in said if f["check"] == fault["check"]]
    assert found, f"not found; found instead: {sorted({f['check'] for f in said})}"
    page = fault.get("page")
    return [f for f in found if page is None or f["page"] in (None, page)]


def number(value: float | str) -> float:
    """Return a measured value, or the first number of one given in words."""
    if isinstance(value, str):
        found = re.search(r"\d+(?:\.\d+)?", value)
        assert found, f"no number in {value!r}"
        return float(found[0])
    return value


def outside(place: dict[str, float], x: float, y: float) -> float:
    """Return how far a point lies outside a place, in mm."""
    dx = max(place["x"] - x, 0.0, x - place["x"] - place["w"])
    dy = max(place["y"] - y, 0.0, y - place["y"] - place["h"])
    return float(np.hypot(dx, dy))


@pytest.mark.parametrize("fault", FAULTS, ids=lambda f: f"{f['file']}:{f['check']}:{f['severity']}")
def test_planted_fault_is_found(fault: dict[str, Any]) -> None:
    found = findings(fault)
    alike = [f for f in found if f["severity"] == fault["severity"]]
    assert alike, f"other severities only: {[(f['severity'], f['message']) for f in found]}"
    if isinstance(fault.get("measured"), str):
        texts = {key: fault[key] for key in ("measured", "required") if key in fault}
        assert texts in [{key: f[key] for key in texts} for f in alike]
    elif "measured" in fault:
        true = fault["measured"]
        allowed = FINE_LINE.get(fault["check"], TOLERANCE.get(fault.get("unit", ""), 0.0))
        allowed = TOLERANCE_MM2 * true if fault.get("unit") == "mm²" else allowed
        allowed = ESTIMATE[fault["check"]] * true if fault["check"] in ESTIMATE else allowed
        assert min(abs(number(f["measured"]) - true) for f in alike) <= allowed + 1e-9, [
            f["measured"] for f in alike
        ]
    if "x" in fault:
        places = [place for f in alike for place in f["where"]]
        assert places, "no place given"
        assert min(outside(place, fault["x"], fault["y"]) for place in places) <= PLACE_MM


@pytest.mark.parametrize("sound", SOUND, ids=lambda s: s["file"])
def test_sound_art_is_clear(sound: dict[str, Any]) -> None:
    part = part_of(sound["file"], sound["spec"])
    assert [(f.check, f.message) for f in part.findings if f.severity != "note"] == []
    assert not part.crashed


@pytest.mark.parametrize("file", sorted({f["file"] for f in FAULTS if f["file"][:6] == "single"}))
def test_small_file_has_no_other_fault(file: str) -> None:
    """Each small file is wrong in one way; anything else said of it is a false alarm."""
    planted = [fault for fault in FAULTS if fault["file"] == file]
    part = part_of(file, planted[0]["spec"])
    said = {f.check for f in part.findings if f.severity != "note"}
    assert said - {fault["check"] for fault in planted} == set()
    assert not part.crashed


@pytest.mark.parametrize(("order", "files"), [("clear", 5), ("gatefold", 9)])
def test_clear_order_is_clear(order: str, files: int) -> None:
    result = inspected(f"{order}/order.toml", None)
    # Side B of the one is a picture: that no program has read it is noted, with its texts to tick.
    notes = [("note", "order.text", "unread", "Label B")] if order == "clear" else []
    assert [(f.severity, f.check, f.code, f.subject) for f in result.findings] == notes
    assert result.verdict == "clear"
    assert [len(result.parts), result.crashed] == [files, False]


def test_every_check_has_a_planted_fault() -> None:
    assert sorted(set(declarations()) - {fault["check"] for fault in FAULTS}) == []


@pytest.mark.parametrize(
    "order", ["clear", "faulty", "gatefold", "gatefold-faulty", "seven-faulty"]
)
def test_one_count_everywhere(order: str) -> None:
    result = inspected(f"{order}/order.toml", None)
    said = counts_of(result)
    assert len(set(said.values())) == 1, said
    assert said["report"].stops + said["report"].queries == asked_in_letter(result)
    each = counts_of_parts(result)
    assert each["sign-off"] == each["report"]


def test_a_result_is_the_same_twice() -> None:
    file, spec = "single/bleed-arc.pdf", "label-12in"
    first = report_text(inspected(file, spec))
    assert report_text(inspect(ART / file, spec=spec)) == first


def test_what_is_said_of_sample_art_reads_well() -> None:
    sources = {(s["file"], s["spec"]) for s in (*FAULTS, *SOUND)}
    faults = set()
    for result in {id(r): r for r in (_result_of(*source) for source in sources)}.values():
        outcomes = [o for part in result.parts for o in part.outcomes] + [*result.outcomes]
        lines = [line.strip() for line in letter_text(result).splitlines()]
        marks = [mark for f in result.every for mark in f.where]
        words = [text for mark in marks for text in (mark.label, mark.subject)]
        for text in (*(outcome.why for outcome in outcomes), *lines, *words):
            faults |= faults_of(text)
        for finding in result.every:
            faults |= faults_of_sentence(finding.message) | faults_of_sentence(finding.fix)
    assert not faults


def _result_of(file: str, spec: str | None) -> Result:
    folder, _, _ = file.partition("/")
    alone = folder in ("single", "templates") and not file.endswith("order.toml")
    return inspected(file, spec) if alone else inspected(f"{folder}/order.toml", None)
