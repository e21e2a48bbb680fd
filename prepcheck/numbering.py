"""One number for each finding of a result, the same in letter, proof, console and report.

The numbers run through the whole order as the letter does: the order as a whole, then file by
file; in each what must be corrected, then what must be decided, findings with one remedy beside
each other. Notes, which ask for nothing, come behind them all. A finding of the order has one
number, however many parts it counts in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from prepcheck.findings import Finding, PartResult, Result, Severity, shared_out
from prepcheck.frozen import dataclass
from prepcheck.words import listed


@dataclass(frozen=True, slots=True)
class Filed:
    """A finding under the heading it is told at, with the part it is on ('' for the order)."""

    finding: Finding
    part: str
    place: tuple[int, int]
    """Which list it stands in (-1 for that of the order, else the part's index) and where."""


@dataclass(frozen=True, slots=True)
class Heading:
    """What is told together: the order as a whole (no parts), or the parts in one file."""

    parts: tuple[PartResult, ...]
    filed: tuple[Filed, ...]


def headings_of(result: Result) -> tuple[Heading, ...]:
    """Return a result's findings by heading, each once; headings without findings as well.

    A finding of the order that names one part alone stands with that part.
    """
    of_order = [
        (Filed(finding, "", (-1, index)), _only_part(finding, result))
        for index, finding in enumerate(result.findings)
    ]
    files: dict[tuple[str, int], list[int]] = {}
    for index, part in enumerate(result.parts):
        alone = -1 if part.received and part.file else index
        files.setdefault((part.file if alone < 0 else "", alone), []).append(index)
    headings = [Heading((), tuple(filed for filed, only in of_order if only is None))]
    for indices in files.values():
        filed: list[Filed] = []
        for index in indices:
            part = result.parts[index]
            filed += [Filed(f, part.name, (index, i)) for i, f in enumerate(part.findings)]
            filed += [replace(one, part=part.name) for one, only in of_order if only == index]
        headings.append(Heading(tuple(result.parts[index] for index in indices), tuple(filed)))
    return tuple(headings)


def numbered(result: Result) -> Result:
    """Return a result each of whose findings has its number, from 1."""
    headings = headings_of(result)
    asked = [one for heading in headings for one in _in_turn(heading.filed)]
    notes = [
        one
        for heading in headings
        for one in heading.filed
        if one.finding.severity is Severity.NOTE
    ]
    numbers = {one.place: number for number, one in enumerate((*asked, *notes), 1)}
    return _renumbered(result, lambda finding, place: numbers[place])


def with_other_numbers(result: Result, numbers: Mapping[int, int]) -> Result:
    """Return a result that is numbered, with these numbers for those that it has."""
    return _renumbered(result, lambda finding, place: numbers[finding.number])


def with_numbers(result: Result) -> Result:
    """Return a result as it is where every finding has its number already, else numbered anew."""
    return result if all(finding.number for finding in result.every) else numbered(result)


def spelled(numbers: Iterable[int]) -> str:
    """Return numbers as people list them: '3', '3 and 5', '3 to 6 and 9'."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words: list[str] = []
    for run in runs:
        words += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run)
    return listed(words)


def _only_part(finding: Finding, result: Result) -> int | None:
    named = [index for index, part in enumerate(result.parts) if part.name in finding.parts]
    return named[0] if len(named) == 1 and len(finding.parts) == 1 else None


def _in_turn(filed: Sequence[Filed]) -> list[Filed]:
    """Return what is asked for, the gravest first, and beside each what the same remedy mends."""
    turns: dict[tuple[int, str], list[Filed]] = {}
    for one in filed:
        if one.finding.severity is not Severity.NOTE:
            turns.setdefault((-one.finding.severity.weight, one.finding.fix), []).append(one)
    return [one for turn in sorted(turns, key=lambda turn: turn[0]) for one in turns[turn]]


def _renumbered(result: Result, number: Callable[[Finding, tuple[int, int]], int]) -> Result:
    def told(findings: Sequence[Finding], index: int) -> tuple[Finding, ...]:
        return tuple(
            replace(finding, number=number(finding, (index, place)))
            for place, finding in enumerate(findings)
        )

    findings = told(result.findings, -1)
    parts = (
        replace(part, findings=told(part.findings, index))
        for index, part in enumerate(result.parts)
    )
    return replace(
        result, findings=findings, parts=tuple(shared_out(findings, part) for part in parts)
    )
