"""The report for people at a terminal: the order, then a table a part, worst first, for any width.

Everything is said in words; colour comes in addition, where a terminal shows it.
"""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import NamedTuple

from prepcheck.findings import (
    Finding,
    PartResult,
    Result,
    Severity,
    Status,
    Value,
    Verdict,
    unit_behind,
)
from prepcheck.numbering import with_numbers
from prepcheck.words import capital, count, rounded_as

WIDTH = 80
NARROWEST = 30
"""Below this, lines are as wide as this, however narrow the terminal."""
_INDENT = 12
_GAP = "  "
_WHOLE = ("ppi", "%", "px")
"""Units of which nobody wants decimals."""
_UNITS = {"mm": "mm", "ppi": "ppi", "percent": "%", "pt": "pt", "mm2": "mm²", "": ""}
_ANSI = {"stop": "1;31", "query": "1;33", "note": "36", "clear": "32", "crashed": "1;35"}


class _Column(NamedTuple):
    title: str
    width: int
    right: bool = False


_COLUMNS = (
    _Column("no", 3, right=True),
    _Column("level", 5),
    _Column("check", 20),
    _Column("page", 4, right=True),
    _Column("measured", 18),
    _Column("required", 18),
)


def console_text(
    result: Result, *, styled: bool = False, width: int = WIDTH, every: bool = False
) -> str:
    """Return the whole result as lines of at most `width` columns; `styled` adds ANSI colour.

    The order is said first. Clear parts without findings take a line each, with `every` all of it.
    """
    width = max(width, NARROWEST)
    result = with_numbers(result)
    parts = sorted(result.parts, key=lambda part: -part.verdict.weight)
    lines = [*_head(result, width), *_summary(result, styled, width)]
    if result.findings:
        lines += ["", capital(result.whole), *_table(result.findings, styled, width)]
    if result.spare:
        named = ", ".join(result.spare)
        lines += ["", *wrapped(f"Not ordered, and not looked at: {named}", width)]
    brief = [part for part in parts if not (every or part.every or part.crashed)]
    for part in parts:
        if part not in brief:
            lines += ["", *_part(part, result.whole, styled, width)]
    if brief:
        lines += ["", *(line for part in brief for line in _title(part, styled, width))]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(result: Result, width: int) -> Iterator[str]:
    order = result.order
    if order is None:
        return
    said = (order.number, order.client, order.title, order.catalogue)
    yield from wrapped(f"Order {', '.join(text for text in said if text)}", width)


def _as_far_as_judged(verdict: Verdict, crashed: bool) -> str:
    """Return a verdict as it is shown: where a check failed, it is not the last word."""
    return verdict.value.upper() + (", INCOMPLETE" if crashed else "")


def _title(part: PartResult, styled: bool, width: int) -> Iterator[str]:
    verdict = part.verdict.value
    shown = _as_far_as_judged(part.verdict, part.crashed)
    # The verdict stands at the right end of the first line, however long the name is.
    title = part.file if part.file.startswith(part.name) else f"{part.name}, {part.file}"
    title = title.removesuffix(", ")
    first, *rest = wrapped(title, width - len(shown) - 2)
    gap = " " * (width - columns_of(first) - len(shown))
    yield f"{first}{gap}{styled_word(shown, verdict, styled)}"
    yield from rest


def _part(part: PartResult, whole: str, styled: bool, width: int) -> Iterator[str]:
    yield from _title(part, styled, width)
    yield "=" * width
    yield from wrapped(_known(part), width)
    if part.findings:
        yield ""
        yield from _table(part.findings, styled, width)
    for finding in part.of_order:
        level = finding.severity.value.upper()
        said = f"{level} of {whole}, see {finding.number} there."
        first, *rest = wrapped(said, width)
        yield from (
            "",
            first.replace(level, styled_word(level, finding.severity.value, styled), 1),
            *rest,
        )
    if not part.received:
        return
    crashed = [outcome for outcome in part.outcomes if outcome.status is Status.CRASHED]
    for outcome in crashed:
        yield ""
        word = styled_word("CRASHED", "crashed", styled)
        lines = wrapped(f"{outcome.check}: {outcome.why}", width - _INDENT)
        yield f"{word:<{_INDENT + len(word) - 7}}{lines[0]}"
        yield from (" " * _INDENT + line for line in lines[1:])
    yield ""
    yield from wrapped(_measured(part), width)
    yield from wrapped(_counted(part), width)
    for outcome in part.outcomes:
        if outcome.untold:
            yield from wrapped(f"Not told, please look: {outcome.check}: {outcome.why}.", width)


def _known(part: PartResult) -> str:
    pages = "1 page" if part.pages == 1 else f"{part.pages} pages"
    words = [f"{part.spec} ({part.recognised_by})" if part.spec else part.recognised_by]
    if part.trim_mm is not None:
        size = f"trim {part.trim_mm[0]:.1f} × {part.trim_mm[1]:.1f} mm"
        words.append(f"{size} ({part.trim_found_by})" if part.trim_found_by else size)
    if part.side is not None:
        words.append(f"side {part.side}")
    return "; ".join(filter(None, [*words, pages if part.pages else ""]))


def _measured(part: PartResult) -> str:
    """Say what was measured; a measure's name ends in its unit."""
    said = []
    for name, value in sorted(part.measured.items()):
        if value is None or value == ():
            continue
        words, _, unit = name.rpartition("_")
        if unit not in _UNITS:
            words, unit = name, ""
        shown = ", ".join(value) if isinstance(value, tuple) else _quantity(value, _UNITS[unit])
        said.append(f"{words.replace('_', ' ')} {shown}")
    return f"Measured: {'; '.join(said)}." if said else "Nothing was measured."


def _counted(part: PartResult) -> str:
    counts = Counter(outcome.status for outcome in part.outcomes)
    said = [f"{count(counts[Status.CLEAR], 'check')} clear"]
    if counts[Status.NOT_APPLICABLE]:
        said.append(f"{counts[Status.NOT_APPLICABLE]} not applicable")
    if counts[Status.CRASHED]:
        said.append(f"{counts[Status.CRASHED]} crashed and not judged")
    return f"{', '.join(said)}."


def _table(findings: Sequence[Finding], styled: bool, width: int) -> Iterator[str]:
    gravest = sorted(findings, key=lambda one: (-one.severity.weight, one.number))
    if width < WIDTH:
        for finding in gravest:
            yield from _stacked(finding, styled, width)
        return
    yield _row([column.title for column in _COLUMNS])
    yield _row(["-" * column.width for column in _COLUMNS])
    for finding in gravest:
        level = finding.severity.value.upper()
        cells = [
            str(finding.number),
            level,
            finding.check,
            "" if finding.page is None else str(finding.page),
            _quantity(finding.measured, finding.unit, finding.message),
            _quantity(finding.required, finding.unit, finding.message),
        ]
        columns = [wrapped(text, c.width) for text, c in zip(cells, _COLUMNS, strict=True)]
        for index, row in enumerate(zip_longest(*columns, fillvalue="")):
            line = _row(row)
            if index == 0 and styled:
                line = line.replace(level, styled_word(level, finding.severity.value, styled), 1)
            yield line
        for label, text in (("", finding.message), ("Fix: ", finding.fix)):
            indent = " " * _INDENT
            yield from (indent + line for line in wrapped(label + text, width - _INDENT))
    yield _row(["-" * column.width for column in _COLUMNS])


def _stacked(finding: Finding, styled: bool, width: int) -> Iterator[str]:
    """Yield a finding for a terminal too narrow for the table's columns."""
    level = finding.severity.value.upper()
    page = "" if finding.page is None else f", page {finding.page}"
    measured = _quantity(finding.measured, finding.unit, finding.message)
    required = _quantity(finding.required, finding.unit, finding.message)
    first, *rest = wrapped(f"{finding.number}. {level} {finding.check}{page}", width)
    yield first.replace(level, styled_word(level, finding.severity.value, styled), 1)
    said = (
        measured and f"Measured {measured}",
        required and f"Required {required}",
        finding.message,
        f"Fix: {finding.fix}",
    )
    for text in (*rest, *filter(None, said)):
        yield from (f"   {line}" for line in wrapped(text, width - 3))


def _row(cells: Sequence[str]) -> str:
    padded = []
    for text, column in zip(cells, _COLUMNS, strict=True):
        space = " " * (column.width - columns_of(text))
        padded.append(space + text if column.right else text + space)
    return _GAP.join(padded)


def _quantity(value: Value | None, unit: str, message: str = "") -> str:
    """Return a value with its unit, rounded as the message rounds it where it names it."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value if not unit or unit in value else f"{value} {unit_behind(value, unit)}"
    worded = rounded_as(value, unit, message) if unit else None
    if worded is not None:
        return f"{'-' if value < 0 and float(worded) else ''}{worded} {unit_behind(worded, unit)}"
    # As the messages round: a tenth, and below one a hundredth.
    places = 2 if abs(value) < 1 else 1
    text = f"{value:.0f}" if unit in _WHOLE else f"{value:.{places}f}".rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} {unit_behind(text, unit)}".strip()


def _summary(result: Result, styled: bool, width: int) -> Iterator[str]:
    verdict = result.verdict
    counts = Counter(part.verdict for part in result.parts)
    parts = ", ".join(f"{counts[v]} {v.value}" for v in reversed(Verdict) if counts[v])
    several = f"({count(len(result.parts), 'part')}: {parts})" if len(result.parts) > 1 else ""
    first = f"Verdict: {_as_far_as_judged(verdict, result.crashed)}"
    if columns_of(f"{first}  {several}") <= width:
        yield styled_word(first, verdict.value, styled) + (f"  {several}" if several else "")
    else:
        yield styled_word(first, verdict.value, styled)
        yield from wrapped(several, width)
    stops = [finding for finding in result.findings if finding.severity is Severity.STOP]
    stopped = [
        part.name
        for part in result.parts
        if any(finding.severity is Severity.STOP for finding in part.findings)
    ]
    what = [*([result.whole] if stops else []), *stopped]
    if what and len(result.parts) > 1:
        yield from wrapped(f"Stopped by: {'; '.join(what)}.", width)
    yield from wrapped(_found(result), width)
    if result.crashed:
        yield from wrapped(
            "A check failed through no fault of the art: the result is incomplete. Please look "
            "at what was not judged by hand, and report this.",
            width,
        )


def _found(result: Result) -> str:
    """Say how much was found, a finding that several parts share once, as the proof's cover has
    it."""
    counts = Counter(finding.severity for finding in result.every)
    nouns = {Severity.STOP: "stop", Severity.QUERY: "query", Severity.NOTE: "note"}
    many = {Severity.QUERY: "queries"}
    said = [
        count(counts[severity], noun, many.get(severity))
        for severity, noun in nouns.items()
        if counts[severity]
    ]
    return f"Findings: {', '.join(said) or 'none'}."


def styled_word(text: str, level: str, styled: bool) -> str:
    """Return text in the colour of a verdict or level, where `styled`."""
    return f"\x1b[{_ANSI[level]}m{text}\x1b[0m" if styled else text


def columns_of(text: str) -> int:
    """Return how many columns of a terminal text takes: wide characters take two."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def wrapped(text: str, width: int) -> list[str]:
    """Return text in lines of at most `width` columns, broken at spaces where there are any.

    Control characters, which a terminal would obey, are shown as a question mark.
    """
    lines: list[str] = [""]
    for word in "".join(c if c.isprintable() else "?" for c in " ".join(text.split())).split(" "):
        for piece in _pieces(word, width):
            longer = f"{lines[-1]} {piece}" if lines[-1] else piece
            if columns_of(longer) <= width:
                lines[-1] = longer
            else:
                lines.append(piece)
    return lines


def _pieces(word: str, width: int) -> Iterator[str]:
    """Break a word that is wider than a line, behind a sign such as '.', '-' or '/' if it can."""
    while columns_of(word) > width:
        end, columns = 0, 0
        for character in word:
            columns += columns_of(character)
            if columns > width:
                break
            end += 1
        end = max(end, 1)
        sign = max(word.rfind(sign, 0, end) for sign in ".-_/")
        cut = sign + 1 if sign > 0 else end
        yield word[:cut]
        word = word[cut:]
    yield word
