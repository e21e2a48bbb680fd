"""The letter: what the client must do, as a plain-text message ready to send."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterator, Sequence

from prepcheck.findings import Result, Severity, Verdict
from prepcheck.numbering import spelled, with_numbers
from prepcheck.output import LETTER_MARK
from prepcheck.todo import FileRequests, Request, asked, requests_of
from prepcheck.words import capital, count, listed

WIDTH = 76
_INDENT = 4


def letter_text(result: Result, *, thanks: Sequence[str] = (), wanted: Sequence[str] = ()) -> str:
    """Return the message, lines of at most 76 columns, ending in a line feed.

    Parts that have not come have a list of their own, and so has what has been put right since
    the last letter (`thanks`, a sentence each). `wanted` are names of parts that are known to be
    awaited, whether or not a finding says so.
    """
    result = with_numbers(result)
    groups = requests_of(result)
    lines = [*_opening(result), ""]
    lines += [*_wrapped(_summary(result, groups, wanted)), ""]
    lines += _list("Thank you for putting right:", thanks)
    lines += _awaited(result, groups, wanted)
    for group in groups:
        if not group.awaited or group.see:
            lines += [*_group(group, result.whole), ""]
    lines += [*_closing(result, groups, wanted)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _awaited(result: Result, groups: Sequence[FileRequests], wanted: Sequence[str]) -> list[str]:
    """Return the list of parts that have not come, each with the number that the proof has."""
    files = {part.name: part.file for part in result.awaited}
    numbers = {group.name: group.numbers for group in groups if group.awaited}
    lines = []
    for name in dict.fromkeys((*numbers, *wanted)):
        file = f" ({files[name]})" if files.get(name) else ""
        first = f"{spelled(numbers[name]):>2}. " if name in numbers else "  - "
        lines += _wrapped(f"{name}{file}", first, " " * _INDENT)
    return ["Still to come from you:", *lines, ""] if lines else []


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
    looked = {part.file for part in result.parts if part.received and not part.kept_from}
    thanks = "Thank you for the artwork"
    if looked:
        thanks += f". We have looked at {count(len(looked), 'file')}"
    if not groups:
        if result.verdict is Verdict.CLEAR and not result.crashed and not wanted:
            return f"{thanks}, and nothing keeps the art from going to plates."
        return f"{thanks}."
    stops, queries, awaited = asked(result)
    needs = []
    if stops:
        verb = "has" if stops == 1 else "have"
        needs.append(f"{count(stops, 'point')} {verb} to be corrected")
    if queries:
        verb = "needs" if queries == 1 else "need"
        noun = count(queries, "point") if not stops else str(queries)
        needs.append(f"{noun} {verb} a decision from you")
    if awaited:
        needs.append(f"{count(awaited, 'part')} {'has' if awaited == 1 else 'have'} yet to come")
    return f"{thanks}. Before plates can be made, {listed(needs)}."


def _group(group: FileRequests, whole: str) -> Iterator[str]:
    """Yield what is asked of a file, with the numbers that the proof has at the places."""
    title = f"{group.file} ({group.name})" if group.file else group.name
    lines = _wrapped(title)
    yield from lines
    yield "-" * min(max(_columns(line) for line in lines), WIDTH)
    for severity, heading in (
        (Severity.STOP, "To be corrected:"),
        (Severity.QUERY, "For you to decide:"),
    ):
        own = [one for one in group.requests if one.severity is severity and not group.awaited]
        if own:
            yield heading
        for request in own:
            yield from _request(request)
    if group.see:
        yield from _wrapped(f"See also {spelled(group.see)}, under {whole}.")


def _request(request: Request) -> Iterator[str]:
    indent = " " * _INDENT
    for one in request.found:
        words = f"{one.words} {one.where}".strip()
        yield from _wrapped(words, f"{spelled(one.numbers):>2}. ", indent)
    if request.files:
        yield from _wrapped(f"Files: {', '.join(request.files)}.", indent, indent)
    yield from _wrapped(capital(request.fix), indent, indent)
    for text in request.to_confirm:
        yield from _wrapped(text, f"{indent}[ ] ", " " * len(f"{indent}[ ] "))


def _closing(
    result: Result, groups: tuple[FileRequests, ...], wanted: Sequence[str]
) -> Iterator[str]:
    spoken_of = {part.file for part in result.parts if part.every or part.crashed}
    sound = list(
        dict.fromkeys(
            part.file for part in result.parts if part.received and part.file not in spoken_of
        )
    )
    if groups and sound:
        verb = "needs" if len(sound) == 1 else "need"
        yield from _wrapped(f"{listed(sound)} {verb} nothing done.")
        yield ""
    unread = [
        f"{part.file} ({part.name})"
        for part in result.parts
        if any(one.severity is Severity.NOTE and one.to_confirm for one in part.every)
    ]
    if unread:
        it = "it" if len(unread) == 1 else "them"
        yield from _wrapped(
            f"No program can read {listed(unread, 'or')}: please look at {it} closely on the proof "
            "and tick the texts that are listed there."
        )
        yield ""
    if result.spare:
        few = len(result.spare) == 1
        yield from _wrapped(
            f"{listed(list(result.spare))} came too, but {'is' if few else 'are'} no part of the "
            f"order, so {'it was' if few else 'they were'} not checked; please tell us if "
            f"{'it is' if few else 'they are'} meant to be."
        )
        yield ""
    if result.crashed:
        yield from _wrapped(
            "One of our measurements failed through no fault of your files. We look at those by "
            "hand and write again; please do not sign the proof before."
        )
        yield ""
    if groups:
        yield from _wrapped(
            "Every place is marked with its measure in the proof that comes with this message. "
            "Please send corrected files under the same names; files that are not listed here "
            "need not be sent again. If anything is unclear, please ask before changing it."
        )
    elif not wanted and not result.crashed:
        yield from _wrapped(
            "Please look through the proof that comes with this message and sign it."
        )
    if groups or not (wanted or result.crashed):
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
