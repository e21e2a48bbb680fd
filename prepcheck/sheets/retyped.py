"""Words of live type that differ between two versions of a page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from difflib import SequenceMatcher

from prepcheck.sheets.texts import plain

MOST = 24
"""Changes kept; what differs more is another text."""
_ALIKE = 0.5
_HARDLY = 0.2
_ENOUGH = 4


def words_changed(old: Sequence[str], new: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Return what stood and what stands in its place, for lines of type; '' where there is none.

    Lines that are the same, wherever they stand, are left out; of lines that are alike only the
    words that differ are given.
    """
    left, come = _rest(old, new), _rest(new, old)
    changes: list[tuple[str, str]] = []
    for line in left:
        ranked = sorted(
            ((SequenceMatcher(None, line, other).ratio(), other) for other in come), reverse=True
        )
        if ranked and ranked[0][0] >= _ALIKE:
            come.remove(ranked[0][1])
            changes += _within(line.split(), ranked[0][1].split())
        else:
            changes.append((line, ""))
    changes += [("", line) for line in come]
    return tuple(changes[:MOST])


def _rest(lines: Sequence[str], others: Sequence[str]) -> list[str]:
    """Return lines that the others have not; letters set one by one are no words."""
    spare = Counter(plain(line) for line in others)
    rest = []
    for line in lines:
        key = plain(line)
        if spare[key]:
            spare[key] -= 1
        elif len(key) > 1:
            rest.append(" ".join(line.split()))
    return rest


def _within(old: list[str], new: list[str]) -> list[tuple[str, str]]:
    steps = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    return [(" ".join(old[a:b]), " ".join(new[c:d])) for tag, a, b, c, d in steps if tag != "equal"]


def hardly_agree(old: Sequence[str], new: Sequence[str]) -> bool | None:
    """Say whether two texts have hardly a word in common; None where there is too little type."""
    one, other = ({word for line in lines for word in plain(line).split()} for lines in (old, new))
    if min(len(one), len(other)) < _ENOUGH:
        return None
    return len(one & other) / len(one | other) < _HARDLY
