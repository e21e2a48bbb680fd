"""The client's page of what was checked: against the order, and in which parts."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.findings import Outcome, Result, Status
from prepcheck.proof.entries import RuledHeading
from prepcheck.proof.figures import counted
from prepcheck.proof.leaf import Block, Leaf
from prepcheck.proof.listing import TICK, WIDTH, Ticked, listing
from prepcheck.proof.theme import SMALL, Palette
from prepcheck.proof.typeset import wrap
from prepcheck.words import listed

_TITLE = 0.56
"""Share of a column that the name of a check takes."""
_STYLE = SMALL.in_ink(Palette.TEXT)


def _line(what: str, said: str) -> Ticked:
    """Return something that was looked at, and where or with what outcome."""
    room = WIDTH - TICK
    title = wrap(what, _STYLE, room * _TITLE - 9)
    return Ticked(
        title, wrap(said, SMALL, room * (1 - _TITLE)), TICK + room * _TITLE, (_STYLE, SMALL)
    )


def checked_leaves(result: Result) -> list[Leaf]:
    """Return the page; none where no check was clear."""
    agreed = [one for one in result.outcomes if one.status is Status.CLEAR]
    blocks: list[Block] = []
    if agreed:
        blocks.append(RuledHeading("Agrees with the order", counted(len(agreed), "check"), WIDTH))
        blocks += [_line(one.title or one.check, _sentence(one)) for one in agreed]
    where = _clear_in(result)
    if where:
        blocks.append(RuledHeading("In order in the files", counted(len(where), "check"), WIDTH))
        names = [part.name for part in result.parts if part.outcomes]
        blocks += [_line(title, _places(parts, names)) for title, parts in where.items()]
    return listing(
        "What was checked",
        "Looked at and found in order. What was found wrong stands with each part.",
        blocks,
    )


def _clear_in(result: Result) -> dict[str, list[str]]:
    """Return the checks that found nothing, by what they make sure of, and the parts in which
    they did."""
    found: dict[str, list[str]] = {}
    titles: dict[str, str] = {}
    for part in result.parts:
        for outcome in part.outcomes:
            if outcome.status is Status.CLEAR:
                found.setdefault(outcome.check, []).append(part.name)
                # What stands from an earlier round may name none.
                titles[outcome.check] = outcome.title or titles.get(outcome.check, outcome.check)
    return {titles[check]: found[check] for check in sorted(found)}


def _places(parts: Sequence[str], names: Sequence[str]) -> str:
    """Return the parts in as few words as tell them."""
    if len(parts) == len(names):
        return f"all {len(names)} parts" if len(names) > 1 else names[0]
    others = [name for name in names if name not in parts]
    if len(others) < len(parts) and len(others) < 3:
        return f"all but {listed(others)}"
    return listed(parts)


def _sentence(outcome: Outcome) -> str:
    return outcome.why[:1].upper() + outcome.why[1:]
