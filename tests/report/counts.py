"""What console, letter, report, cover and sign-off count, each read back from what it shows."""

from __future__ import annotations

import io
import json
import re
from collections import Counter
from datetime import date
from typing import NamedTuple

from pypdf import PdfReader

from prepcheck.findings import NOT_EXAMINED, PartResult, Result
from prepcheck.proof.model import ProofPart
from prepcheck.proof.write import proof_bytes
from prepcheck.report.console import console_text
from prepcheck.report.json import report_text
from prepcheck.report.letter import letter_text
from tests.proof.test_write import squeezed

_WORDS = {"stop": "stop", "query": "query", "queries": "query", "note": "note"}


class Tally(NamedTuple):
    stops: int
    queries: int
    notes: int


def tally_in(text: str) -> Tally:
    """Return how many of each a text counts, with or without blanks."""
    counts: Counter[str] = Counter()
    for number, word in re.findall(r"(\d+)\s?(stop|query|queries|note)", text):
        counts[_WORDS[word]] += int(number)
    return Tally(counts["stop"], counts["query"], counts["note"])


def counts_of(result: Result) -> dict[str, Tally]:
    """Return what each output counts in all, by its name."""
    proof = _proof(result)
    table = json.loads(report_text(result))
    severities = Counter(
        finding["severity"]
        for findings in (table.get("findings", []), *(part["findings"] for part in table["parts"]))
        for finding in findings
    )
    console = " ".join(console_text(result).split())
    (found,) = re.findall(r"Findings: ([^.]*)\.", console)
    cover = proof[0].partition("checked")[2].partition(":")[2]
    said = {
        "report": Tally(severities["stop"], severities["query"], severities["note"]),
        "console": tally_in(found),
        "cover": tally_in(re.split(r"[A-Z]", cover, maxsplit=1)[0]),
    }
    if len(result.parts) > 1:
        (in_all,) = re.findall(r"Inall:([^.;]*)[.;]", "".join(proof))
        said["sign-off"] = tally_in(in_all)
    return said


def asked_in_letter(result: Result) -> int:
    """Return how much the letter says is to be done; what prepcheck failed on is added."""
    text = " ".join(letter_text(result).split())
    opening = text.partition("Before plates can be made, ")[2].partition(".")[0]
    failed = sum(1 for finding in result.every if finding.code == NOT_EXAMINED)
    return sum(int(number) for number in re.findall(r"\d+", opening)) + failed


def counts_of_parts(result: Result) -> dict[str, list[Tally]]:
    """Return what report and sign-off count in each part."""
    table = json.loads(report_text(result))
    report = []
    for part in table["parts"]:
        own = [f["severity"] for f in part["findings"]]
        own += [table["findings"][index]["severity"] for index in part["order_findings"]]
        report.append(Tally(own.count("stop"), own.count("query"), own.count("note")))
    rows = "".join(_proof(result)).rpartition("Sign-off")[2].partition("Inall:")[0]
    signed = [_row(rows, part) for part in result.parts]
    return {"report": report, "sign-off": signed}


def _row(rows: str, part: PartResult) -> Tally:
    verdict = part.verdict.value.upper()
    found = re.search(rf"{re.escape(squeezed(part.name))}.*?{verdict}(.*?)(?:SHA|[A-Z]|$)", rows)
    assert found, part.name
    return tally_in(found[1])


def _proof(result: Result) -> list[str]:
    """Return the text of each page of a proof without pictures, blanks left out."""
    parts = tuple(ProofPart(part, None) for part in result.parts)
    data = proof_bytes(result, parts, made_on=date(2026, 3, 31))
    return [squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(data)).pages]
