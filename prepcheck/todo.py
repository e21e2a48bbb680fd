"""What the client must do, file by file, in plain sentences: made once for the proof's cover and
for the letter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from prepcheck.findings import Finding, Result, Severity


@dataclass(frozen=True, slots=True)
class Request:
    """One thing to do: what was found, a sentence each, and what to do about it."""

    severity: Severity
    found: tuple[str, ...]
    fix: str


@dataclass(frozen=True, slots=True)
class FileRequests:
    """What is asked of one file, the gravest first; `file` is empty for the order as a whole."""

    name: str
    file: str
    requests: tuple[Request, ...]


def requests_of(result: Result) -> tuple[FileRequests, ...]:
    """Return what is to be corrected or decided, the order as a whole first.

    Notes ask for nothing and are left out, and so are files that need nothing.
    """
    groups = (
        FileRequests("The order as a whole", "", _requests(result.findings)),
        *(
            FileRequests(
                part.name,
                part.file if part.received else "",
                _requests(part.findings, part.pages > 1),
            )
            for part in result.parts
        ),
    )
    return tuple(group for group in groups if group.requests)


def _requests(findings: Iterable[Finding], say_page: bool = False) -> tuple[Request, ...]:
    """Return findings as requests; those with the same remedy are one."""
    merged: dict[tuple[Severity, str], dict[str, list[int]]] = {}
    for finding in findings:
        if finding.severity is not Severity.NOTE:
            found = merged.setdefault((finding.severity, finding.fix), {})
            pages = found.setdefault(finding.message, [])
            if say_page and finding.page is not None and finding.page not in pages:
                pages.append(finding.page)
    gravest = sorted(merged.items(), key=lambda item: -item[0][0].weight)
    return tuple(
        Request(severity, tuple(_on(pages) + words for words, pages in found.items()), fix)
        for (severity, fix), found in gravest
    )


def _on(pages: list[int]) -> str:
    """Return 'Page 2: ', 'Pages 1, 2 and 4: ', or nothing."""
    if len(pages) < 2:
        return f"Page {pages[0]}: " if pages else ""
    *first, last = sorted(pages)
    return f"Pages {', '.join(map(str, first))} and {last}: "
