"""The letter: what the client must do, as a plain-text message ready to send."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterator, Sequence

from prepcheck.findings import Result, Severity, Verdict
from prepcheck.output import LETTER_MARK
from prepcheck.todo import FileRequests, Request, requests_of

WIDTH = 76
_INDENT = 4


def letter_text(result: Result, *, thanks: Sequence[str] = (), wanted: Sequence[str] = ()) -> str:
    """Return the message, lines of at most 76 columns, ending in a line feed.

    `thanks` is what has been put right since the last one, a sentence each; `wanted` the names of
    parts that have not come yet.
    """
    groups = requests_of(result)
    lines = [*_opening(result), ""]
    lines += [*_wrapped(_summary(result, groups, wanted)), ""]
    lines += _list("Thank you for putting right:", thanks)
    lines += _list("Still to come from you:", wanted)
    first = 1
    for group in groups:
        lines += [*_group(group, first), ""]
        first += len(group.requests)
    lines += [*_closing(result, groups, wanted)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _list(heading: str, items: Sequence[str]) -> list[str]:
    """Return a heading and its items, a dash before each, and an empty line; nothing for none."""
    lines = [line for item in items for line in _wrapped(item, "  - ", " " * _INDENT)]
    return [heading, *lines, ""] if lines else []


def _opening(result: Result) -> Iterator[str]:
    order = result.order
    if order is not None:
        facts = (order.title, order.catalogue, order.number and f"order {order.number}")
        yield from _wrapped(f"Artwork for {', '.join(fact for fact in facts if fact)}")
        yield ""
    named = order is not None and order.client
    yield from _wrapped(f"Dear {order.client}," if order is not None and named else "Hello,")


def _summary(result: Result, groups: tuple[FileRequests, ...], wanted: Sequence[str]) -> str:
    files = _counted(sum(1 for part in result.parts if part.received), "file")
    thanks = f"Thank you for the artwork. We have looked at {files}"
    if not groups:
        if result.verdict is Verdict.CLEAR and not result.crashed and not wanted:
            return f"{thanks}, and nothing keeps the art from going to plates."
        return f"{thanks}."
    asked = [request for group in groups for request in group.requests]
    stops = sum(1 for request in asked if request.severity is Severity.STOP)
    queries = len(asked) - stops
    needs = []
    if stops:
        verb = "has" if stops == 1 else "have"
        needs.append(f"{_counted(stops, 'point')} {verb} to be corrected")
    if queries:
        verb = "needs" if queries == 1 else "need"
        noun = _counted(queries, "point") if not stops else str(queries)
        needs.append(f"{noun} {verb} a decision from you")
    return f"{thanks}. Before plates can be made, {' and '.join(needs)}."


def _group(group: FileRequests, first: int) -> Iterator[str]:
    """Yield what is asked of a file; numbers run on from `first` through the whole letter."""
    title = f"{group.file} ({group.name})" if group.file else group.name
    lines = _wrapped(title)
    yield from lines
    yield "-" * min(max(_columns(line) for line in lines), WIDTH)
    for severity, heading in (
        (Severity.STOP, "To be corrected:"),
        (Severity.QUERY, "For you to decide:"),
    ):
        own = [request for request in group.requests if request.severity is severity]
        if own:
            yield heading
        for number, request in enumerate(own, first):
            yield from _request(number, request)
        first += len(own)


def _request(number: int, request: Request) -> Iterator[str]:
    for index, sentence in enumerate((*request.found, request.fix)):
        first = f"{number:>2}. " if index == 0 else " " * _INDENT
        yield from _wrapped(sentence, first, " " * _INDENT)


def _closing(
    result: Result, groups: tuple[FileRequests, ...], wanted: Sequence[str]
) -> Iterator[str]:
    asked = {group.file for group in groups}
    sound = [
        part.file
        for part in result.parts
        if part.received and part.file not in asked and not (part.every or part.crashed)
    ]
    if groups and sound:
        verb = "needs" if len(sound) == 1 else "need"
        yield from _wrapped(f"{_listed(sound)} {verb} nothing done.")
        yield ""
    if result.spare:
        few = len(result.spare) == 1
        yield from _wrapped(
            f"{_listed(list(result.spare))} came too, but {'is' if few else 'are'} no part of the "
            f"order, so {'it was' if few else 'they were'} not checked; please tell us if "
            f"{'it is' if few else 'they are'} meant to be."
        )
        yield ""
    if result.crashed:
        yield from _wrapped(
            "One of our measurements failed through no fault of your files. We look at those by "
            "hand and write again if they show anything."
        )
        yield ""
    if groups:
        yield from _wrapped(
            "Every place is marked with its measure in the proof that comes with this message. "
            "Please send corrected files under the same names; files that are not listed here "
            "need not be sent again. If anything is unclear, please ask before changing it."
        )
    elif not wanted:
        yield from _wrapped(
            "Please look through the proof that comes with this message and sign it."
        )
    yield ""
    yield "With kind regards"
    yield ""
    yield f"{LETTER_MARK} {result.version}"


def _wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    """Return text in lines, of which wide characters take two columns."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    plain = " ".join(plain.split())
    extra = _columns(plain) - len(plain)
    width = WIDTH - (extra if extra < WIDTH // 2 else WIDTH // 2)
    return textwrap.wrap(
        plain, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    ) or [first.rstrip()]


def _columns(text: str) -> int:
    return sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
