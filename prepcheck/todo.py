"""What the client must do, file by file, in plain sentences: made once for the proof's cover and
for the letter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from prepcheck.findings import NOT_EXAMINED, NOT_RECEIVED, PartResult, Result, Severity
from prepcheck.frozen import dataclass
from prepcheck.numbering import Filed, Heading, headings_of, spelled, with_numbers
from prepcheck.words import capital, count, listed

_MOST_NAMES = 4
"""Parts in one file that are named in its heading; of more, it is said how many there are."""


_MOST_THINGS = 3
"""Things that are named where something was found in several."""


class Asked(NamedTuple):
    """How many findings are to be corrected, how many to be decided, and how many parts are still
    to come."""

    correct: int
    decide: int
    send: int


class Found(NamedTuple):
    """What was found, a sentence or two, with the numbers it has on the proof.

    `where` names what stands at the worst places, as far as it could be told.
    """

    numbers: tuple[int, ...]
    words: str
    where: str = ""


@dataclass(frozen=True, slots=True)
class Request:
    """One thing to do: what was found and what to do about it.

    `files` are those it concerns where it is told with none of them; `to_confirm` are texts that
    the client is asked to look for.
    """

    severity: Severity
    found: tuple[Found, ...]
    fix: str
    files: tuple[str, ...] = ()
    to_confirm: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FileRequests:
    """What is asked of one file, by number; `file` is empty for the order as a whole.

    `see` are the numbers of what is told of the order as a whole and concerns this file too.
    `awaited` says that the file has not come, and that it be sent is all that is asked.
    """

    name: str
    file: str
    requests: tuple[Request, ...]
    see: tuple[int, ...] = ()
    awaited: bool = False

    @property
    def numbers(self) -> tuple[int, ...]:
        """Those of all that is asked here."""
        return tuple(n for one in self.requests for found in one.found for n in found.numbers)


def requests_of(result: Result) -> tuple[FileRequests, ...]:
    """Return what is to be corrected or decided, the order as a whole first.

    Notes ask for nothing and are left out, and so are files that need nothing, and those that
    prepcheck itself failed on.
    """
    result = with_numbers(result)
    groups = tuple(_group(heading, result) for heading in headings_of(result))
    return tuple(group for group in groups if group.requests or group.see)


def asked(result: Result) -> Asked:
    """Return how much is asked for, each finding once."""
    asking = [one for one in result.every if one.code not in (NOT_EXAMINED, NOT_RECEIVED)]
    levels = [finding.severity for finding in asking]
    to_come = sum(1 for finding in result.every if finding.code == NOT_RECEIVED)
    return Asked(levels.count(Severity.STOP), levels.count(Severity.QUERY), to_come)


def _group(heading: Heading, result: Result) -> FileRequests:
    parts = heading.parts
    if not parts:
        return FileRequests(capital(result.whole), "", _requests(heading.filed, (), result))
    own = {one.finding.number for one in heading.filed}
    see = {
        finding.number
        for part in parts
        for finding in part.of_order
        if finding.severity is not Severity.NOTE and finding.number not in own
    }
    return FileRequests(
        _names(parts),
        parts[0].file if parts[0].received else "",
        _requests(heading.filed, parts, result),
        tuple(sorted(see)),
        bool(heading.filed) and all(one.finding.code == NOT_RECEIVED for one in heading.filed),
    )


def _names(parts: Sequence[PartResult]) -> str:
    names = list(dict.fromkeys(part.name for part in parts))
    return listed(names) if len(names) <= _MOST_NAMES else f"{len(names)} parts"


def _requests(
    filed: Sequence[Filed], parts: Sequence[PartResult], result: Result
) -> tuple[Request, ...]:
    """Return findings as requests by number; those with the same remedy are one."""
    merged: dict[tuple[Severity, str], list[Filed]] = {}
    for one in sorted(filed, key=lambda one: one.finding.number):
        if one.finding.severity is not Severity.NOTE and one.finding.code != NOT_EXAMINED:
            merged.setdefault((one.finding.severity, one.finding.fix), []).append(one)
    requests: list[Request] = []
    told: dict[str, tuple[int, ...]] = {}
    for (severity, fix), members in merged.items():
        found = _found(members, parts)
        numbers = tuple(number for one in found for number in one.numbers)
        before = told.setdefault(fix, numbers)
        requests.append(
            Request(
                severity,
                found,
                # One remedy for what must be corrected and what must be decided is told once.
                fix
                if before == numbers
                else f"What is asked under {spelled(before)} helps here too.",
                () if parts else _files(members, result),
                tuple(dict.fromkeys(text for one in members for text in one.finding.to_confirm)),
            )
        )
    return tuple(requests)


def _found(members: Sequence[Filed], parts: Sequence[PartResult]) -> tuple[Found, ...]:
    """Return what was found, each wording once, with the parts and pages it was found on."""
    by_words: dict[str, list[Filed]] = {}
    for one in members:
        by_words.setdefault(one.finding.message, []).append(one)
    return tuple(
        Found(
            tuple(sorted({one.finding.number for one in same})),
            capital(_where(same, parts) + words),
            _things(same, words),
        )
        for words, same in by_words.items()
    )


def _where(filed: Sequence[Filed], parts: Sequence[PartResult]) -> str:
    """Return 'Page 2: ', 'Label A, pages 1 and 4: ', or nothing, as far as there is a choice."""
    names = list(dict.fromkeys(one.part for one in filed)) if len(parts) > 1 else []
    several = {part.name for part in parts if part.pages > 1}
    pages = sorted(
        {
            one.finding.page
            for one in filed
            if one.finding.page is not None and one.part in several and len(names) < 2
        }
    )
    said = [listed(names)] if names else []
    if pages:
        said.append(f"page{'s' if len(pages) > 1 else ''} {listed(map(str, pages))}")
    return f"{capital(', '.join(said))}: " if said else ""


def _things(filed: Sequence[Filed], words: str) -> str:
    """Return "Where: the line '℗ 2026 …', the picture at the left and 4 more places." """
    marks = [mark for one in filed for mark in one.finding.where]
    names = [name for name in dict.fromkeys(mark.subject for mark in marks) if name]
    quoted = [name for name in names if name.removeprefix("the line ").strip("'…") in words]
    shown = [name for name in names if name not in quoted][:_MOST_THINGS]
    if not shown:
        return ""
    more = len(marks) - sum(1 for mark in marks if mark.subject in (*shown, *quoted))
    if more > 0:
        return f"Where: {', '.join(shown)} and {count(more, 'more place', 'more places')}."
    return f"Where: {listed(shown)}."


def _files(members: Sequence[Filed], result: Result) -> tuple[str, ...]:
    named = {name for one in members for name in one.finding.parts}
    files = (part.file or part.name for part in result.parts if part.name in named)
    return tuple(dict.fromkeys(files))
