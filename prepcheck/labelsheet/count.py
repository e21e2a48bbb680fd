"""How labels share a sheet, and how many sheets an edition takes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from prepcheck.errors import UsageError
from prepcheck.words import listed


@dataclass(frozen=True)
class PrintRun:
    """How many sheets are printed, and the arithmetic in words."""

    sheets: int
    arithmetic: str


Value = TypeVar("Value")


def by_label(
    option: str, calls: Sequence[Sequence[str]], stated: Mapping[str, Value]
) -> dict[int, Value]:
    """Return what is stated of labels by their place; `calls` are the names that each goes by, the
    one that it is told by first.

    Letters' case does not count. Raises UsageError for a name that no label, or more than one,
    goes by, and for a label that is named twice.
    """
    found: dict[int, Value] = {}
    told = listed([names[0] for names in calls])
    for name, value in stated.items():
        own = [at for at, names in enumerate(calls) if name.casefold() in map(str.casefold, names)]
        if not own:
            raise UsageError(f"{option} {name}: there is no such label; there are {told}")
        if len(own) > 1:
            raise UsageError(f"{option} {name}: several labels are called so; there are {told}")
        if own[0] in found:
            raise UsageError(f"{option}: {calls[own[0]][0]} is named twice")
        found[own[0]] = value
    return found


def shares_of(
    names: Sequence[str], stated: Mapping[str, int], holds: int, sheet: str
) -> tuple[int, ...]:
    """Return how often each label stands on a sheet that holds so many.

    Without stated shares all stand there equally often, as often as there is room. Raises
    UsageError where a label's share is not stated, or for more than the sheet holds.
    """
    if stated:
        lacking = [name for name in names if name not in stated]
        if lacking:
            raise UsageError(f"--share: says nothing of {listed(lacking)}; state every label's")
        shares = tuple(stated[name] for name in names)
    else:
        shares = (max(holds // len(names), 1),) * len(names)
    if sum(shares) > holds:
        room = f"no more than {holds}" if holds else "none"
        raise UsageError(
            f"{sheet}: {sum(shares)} labels are to stand on it, but it holds {room}; take a "
            "larger sheet, or less gap and margin"
        )
    return shares


def run_of(quantity: int, overs_percent: Fraction, shares: Mapping[str, int]) -> PrintRun:
    """Return the sheets that `quantity` records take: of each label as many, with so many more
    for making ready and waste. The label that stands there least often decides."""
    least = min(shares.values())
    needed = quantity * (1 + overs_percent / 100)
    sheets = math.ceil(needed / least)
    overs = f"{float(overs_percent):g} %"
    what = f"{quantity} × (1 + {overs}) ÷ {least}"
    exact = needed / least
    value = str(sheets)
    if exact != sheets:
        value = f"{math.floor(exact * 100) / 100:.2f}, rounded up: {sheets}"
    uneven = len(set(shares.values())) > 1
    who = next(name for name, share in shares.items() if share == least)
    decided = f" ({who} decides)" if uneven else ""
    return PrintRun(sheets, f"{what} = {value}{decided}")
