"""An earlier round of an order, as its report tells it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from prepcheck.errors import UsageError, said_by
from prepcheck.findings import Finding, Mark, Outcome, PartResult, Severity, Status
from prepcheck.geometry import Box
from prepcheck.order import Order, OrderPart, part_path
from prepcheck.run.awaited import awaited_part
from prepcheck.words import listed

SCHEMA = "prepcheck-report/1"


@dataclass(frozen=True)
class EarlierRound:
    """A report, where it was read, the results of its parts, and what was found about the order."""

    path: Path
    number: str | None
    parts: tuple[PartResult, ...]
    findings: tuple[Finding, ...] = ()
    order_file: str | None = None
    """The name that the order file had."""

    def part(self, name: str) -> PartResult | None:
        """Return what the report says of a part by its name; None where nothing."""
        return next((part for part in self.parts if part.name == name and part.received), None)

    def file_of(self, part: OrderPart, order_path: Path) -> Path | None:
        """Return where the earlier file of a part still lies, known by its bytes; else None."""
        before = self.part(part.name)
        if before is None or not before.sha256:
            return None
        places = [part_path(part, order_path.parent), order_path.parent / before.file,
                  self.path.parent / before.file]  # fmt: skip
        for place in places:
            if place is not None and _digest(place) == before.sha256:
                return place
        return None

    def kept(self, order: Order, order_path: Path, arrived: set[str]) -> dict[str, PartResult]:
        """Return the results that parts keep: those that did not come again and whose earlier file
        is not there to be examined along with the rest."""
        found: dict[str, PartResult] = {}
        for part in order.part:
            before = self.part(part.name)
            if part.name in arrived or before is None:
                continue
            place = part_path(part, order_path.parent)
            if place is not None and _digest(place) == before.sha256:
                continue
            found[part.name] = replace(
                before, kept_from=f"{self.path.name}; the file was not sent again"
            )
        return found

    def still(self, kept: Collection[str], arrived: Collection[str]) -> tuple[Finding, ...]:
        """Return what was found about the order and concerns a part that is `kept`: nobody can
        judge it again. What concerns only parts that are here is judged with them."""
        return tuple(
            _anew(finding, kept, arrived)
            for finding in self.findings
            if any(name in kept for name in finding.parts)
        )


_BEFORE = "In the round before: "


def _anew(finding: Finding, kept: Collection[str], arrived: Collection[str]) -> Finding:
    """Return what is still known of a finding when some of the parts it is about have come again.

    It was about how they go together, and that cannot be judged with a file that is gone: it is
    asked, of the parts whose files are gone, and no longer a stop.
    """
    came = [name for name in finding.parts if name in arrived]
    gone = tuple(name for name in finding.parts if name in kept)
    if not came or finding.severity is Severity.NOTE:
        return replace(finding, number=0)
    said = finding.message.removeprefix(_BEFORE).partition(" Since then ")[0]
    return replace(
        finding,
        severity=Severity.QUERY,
        message=f"{_BEFORE}{said} Since then {listed(came)} came again, and the file of "
        f"{listed(gone)} is not here to be held against it.",
        fix=f"Please send the file of {listed(gone)} again, so that both are looked at together.",
        where=(),
        parts=gone,
        number=0,
    )


def as_it_stands(order: Order, path: Path) -> EarlierRound:
    """Return an order as its files lie there now: their names and digests, and nothing found."""
    here = ((part, part_path(part, path.parent)) for part in order.part)
    digests = ((part, "" if file is None else _digest(file)) for part, file in here)
    return EarlierRound(
        path,
        order.order.number,
        tuple(
            replace(awaited_part(part, ()), sha256=digest, received=True, findings=())
            for part, digest in digests
            if digest
        ),
    )


def is_report(path: Path) -> bool:
    """Say whether a file is the report of a check; a pipe or a device is none."""
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            return f'"schema": "{SCHEMA}"'.encode() in file.read(200)
    except OSError:
        return False


def read_report(path: Path) -> EarlierRound:
    """Return the round that a report tells of, or the one report in a folder.

    Raises UsageError where it cannot be read, and where a folder holds reports of several orders.
    """
    if not path.is_dir():
        return _read(path)
    found = [_read(one) for one in sorted(path.glob("*.json")) if is_report(one)]
    if len({one.number for one in found}) > 1:
        numbers = listed([one.number or one.path.name for one in found])
        raise UsageError(f"{path}: holds reports of several orders ({numbers}); name one of them")
    return max(found, key=lambda one: one.path.stat().st_mtime)


def read_round(path: Path, order: Order) -> EarlierRound:
    """Return the earlier round of an order from its report, or from a folder that holds it.

    Raises UsageError where there is no report of this order, or it cannot be read.
    """
    if path.is_dir():
        return _in_folder(path, order)
    found = _read(path)
    if found.number is not None and found.number != order.order.number:
        raise UsageError(
            f"{path}: this is the report of order {found.number}, not of {order.order.number}; "
            "name the report of this order's earlier round"
        )
    return found


def _in_folder(folder: Path, order: Order) -> EarlierRound:
    reports = []
    for path in sorted(folder.glob("*.json")) + sorted(folder.glob("*/*.json")):
        try:
            found = _read(path)
        except UsageError:
            continue
        if found.number == order.order.number:
            reports.append(found)
    if not reports:
        raise UsageError(
            f"{folder}: holds no report of order {order.order.number}; name the JSON report of the "
            "earlier round"
        )
    return max(reports, key=lambda one: one.path.stat().st_mtime)


def _read(path: Path) -> EarlierRound:
    try:
        report = json.loads(path.read_text(encoding="utf-8"))
        if report["schema"] != SCHEMA:
            raise UsageError(f"{path}: this is no report of a check ({SCHEMA})")
        facts = report["order"] or {"number": None}
        number, file = facts["number"], facts.get("file")
        findings = tuple(_finding(table) for table in report.get("findings", []))
        parts = tuple(_part(table) for table in report["parts"])
    except FileNotFoundError:
        raise UsageError(f"{path}: there is no such report") from None
    except OSError as error:
        raise UsageError(f"{path}: cannot be read ({error.strerror or error})") from None
    except (ValueError, KeyError, TypeError, AttributeError, IndexError) as error:
        raise UsageError(
            f"{path}: cannot be read as a report ({type(error).__name__}: {said_by(error)}); "
            "name the JSON report that the first check wrote"
        ) from None
    return EarlierRound(path, number, parts, findings, file)


def _part(table: Mapping[str, Any]) -> PartResult:
    """Return a part as the report has it."""
    trim = table["trim_mm"]
    return PartResult(
        name=table["name"],
        file=table["file"],
        sha256=table["sha256"],
        bytes=table["bytes"],
        spec=table["spec"],
        recognised_by=table["recognised_by"],
        pages=table["pages"],
        trim_mm=None if trim is None else (trim[0], trim[1]),
        trim_found_by=table["trim_found_by"],
        outcomes=tuple(
            Outcome(o["check"], Status(o["outcome"]), o["why"], o["measured"], o["required"],
                    o["unit"], o.get("title", ""), o.get("untold", False))
            for o in table["checks"]
        ),
        findings=tuple(_finding(f) for f in table["findings"]),
        measured={
            name: tuple(value) if isinstance(value, list) else value
            for name, value in table["measured"].items()
        },
        side=table["side"],
        received=table.get("received", True),
    )  # fmt: skip


def _finding(table: Mapping[str, Any]) -> Finding:
    return Finding(
        check=table["check"],
        severity=Severity(table["severity"]),
        message=table["message"],
        fix=table["fix"],
        source=table["source"],
        page=table["page"],
        measured=table["measured"],
        required=table["required"],
        unit=table["unit"],
        where=tuple(map(_mark, table["where"])),
        code=table.get("code", "") or "",
        subject=table.get("subject", "") or "",
        limit=table.get("limit", "") or "",
        parts=tuple(table.get("parts", ())),
        to_confirm=tuple(table.get("to_confirm", ())),
    )


def _mark(place: dict[str, Any]) -> Mark:
    box = Box(place["x"], place["y"], place["x"] + place["w"], place["y"] + place["h"])
    return Mark(
        box,
        part=place.get("part", "") or "",
        page=place.get("page"),
        subject=place.get("subject", "") or "",
    )


def _digest(path: Path) -> str:
    try:
        if not path.is_file():
            return ""
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""
