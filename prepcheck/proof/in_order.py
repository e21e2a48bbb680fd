"""The pages that list, part for part, what was checked and found in order."""

from __future__ import annotations

from prepcheck.findings import Outcome, PartResult, Result, Status
from prepcheck.proof.entries import RuledHeading
from prepcheck.proof.figures import counted
from prepcheck.proof.leaf import Block, Leaf
from prepcheck.proof.listing import TICK, WIDTH, Ticked, listing
from prepcheck.proof.theme import SMALL, Palette
from prepcheck.proof.typeset import wrap
from prepcheck.words import capital

_NAME = 99.0
_STYLE = SMALL.in_ink(Palette.TEXT)


def in_order_leaves(result: Result) -> list[Leaf]:
    """Return the pages; none when no check of any part was clear."""
    blocks = [block for part in result.parts for block in _part_blocks(part)]
    return listing("In order", "What was looked at in each part and needs nothing done.", blocks)


def _part_blocks(part: PartResult) -> list[Block]:
    clear = [outcome for outcome in part.outcomes if outcome.status is Status.CLEAR]
    if not clear:
        return []
    return [
        RuledHeading(part.name, counted(len(clear), "check"), WIDTH),
        *(_checked(outcome) for outcome in clear),
    ]


def _checked(outcome: Outcome) -> Ticked:
    """Return one check that found nothing, with what it says."""
    name = wrap(outcome.title or outcome.check, SMALL, _NAME - 9)
    said = wrap(capital(outcome.why), _STYLE, WIDTH - TICK - _NAME)
    return Ticked(name, said, TICK + _NAME, (SMALL, _STYLE))
