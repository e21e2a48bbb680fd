"""A part that a file is looked for, and what is known of it from an earlier round."""

from __future__ import annotations

from dataclasses import dataclass

from prepcheck.intake.look import Seen
from prepcheck.order import OrderPart
from prepcheck.spec.model import Spec


@dataclass(frozen=True, slots=True)
class Earlier:
    """What is known of a part from an earlier round."""

    sha256: str = ""
    file: str = ""
    seen: Seen | None = None
    """What was seen in the earlier file, where it is still there."""
    page: int | None = None
    """The page (1-based) of the earlier file that the part was."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A part that a file is looked for, the specs it may be of, and its earlier round."""

    part: OrderPart
    specs: tuple[Spec, ...]
    earlier: Earlier | None = None
    alike: tuple[tuple[str, str], ...] = ()
    """Digests of files that were this part in another order of the record, each with that order."""
    shared: frozenset[str] = frozenset()
    """Words that the earlier files of all parts have, so that they tell none of them."""
