"""What the proof is made of: the result, the specs, and pictures rendered by the workers."""

from __future__ import annotations

from dataclasses import dataclass

from prepcheck.findings import PartResult
from prepcheck.geometry import Box, Grid
from prepcheck.spec.model import Spec


@dataclass(frozen=True, slots=True)
class Picture:
    """An encoded picture (JPEG or PNG bytes) and where its pixels lie in the piece's frame."""

    data: bytes
    grid: Grid


@dataclass(frozen=True, slots=True)
class InsetPlan:
    """A place to show enlarged: the finding's number on the part and the box in mm to render."""

    number: int
    page: int
    box: Box


@dataclass(frozen=True, slots=True)
class Inset:
    """A place shown enlarged."""

    plan: InsetPlan
    picture: Picture


@dataclass(frozen=True, slots=True)
class ProofPage:
    """One page of art (1-based `number`) with its picture over trim, bleed and a margin."""

    number: int
    page_index: int
    """Index (0-based) into the spec's pages: which face of the piece this is."""
    picture: Picture
    insets: tuple[Inset, ...] = ()


@dataclass(frozen=True, slots=True)
class ProofPart:
    """One part as the proof shows it; `pages` is empty when the file could not be read."""

    result: PartResult
    spec: Spec | None
    pages: tuple[ProofPage, ...] = ()
