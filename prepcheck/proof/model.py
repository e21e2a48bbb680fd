"""What the proof is made of: the result, the specs, and pictures rendered by the workers."""

from __future__ import annotations

from datetime import date
from typing import Literal

from prepcheck.comparison import PageChanges, PartChanges
from prepcheck.findings import PartResult
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box, Grid
from prepcheck.spec.model import Spec


@dataclass(frozen=True, slots=True)
class Picture:
    """An encoded picture (JPEG or PNG bytes) and where its pixels lie in the piece's frame."""

    data: bytes
    grid: Grid


ProofFor = Literal["client", "plant"]
"""Who a proof is for: the client's is short, the plant's has plates and ink besides."""


@dataclass(frozen=True, slots=True)
class InsetPlan:
    """A place to show enlarged: the finding's number and the box in mm to render.

    `enlargement` is how much larger than true size it is shown, `also` are further findings whose
    places it shows; without `sharp` it is cut from the picture of the page.
    """

    number: int
    page: int
    box: Box
    enlargement: float = 4.0
    also: tuple[int, ...] = ()
    sharp: bool = True

    @property
    def numbers(self) -> tuple[int, ...]:
        return (self.number, *self.also)


@dataclass(frozen=True, slots=True)
class Inset:
    """A place shown enlarged."""

    plan: InsetPlan
    picture: Picture


@dataclass(frozen=True, slots=True)
class PlatePicture:
    """One plate as a grey picture, solid ink black, and what it carries.

    `percent` is the mean tone of the finished face, without the hole; `solid_mm2` the area of
    solid that its ink adds up to there, `sheet_mm2` the same with the bleed and the hole.
    """

    ink: str
    picture: Picture
    percent: float
    solid_mm2: float
    sheet_mm2: float


@dataclass(frozen=True, slots=True)
class Swatch:
    """A colour and what it stands for; the colour as sRGB, '#rrggbb'.

    On the ink map what lies above the limit is hatched, and what is not known is dotted.
    """

    words: str
    colour: str
    pattern: Literal["plain", "hatched", "dotted"] = "plain"


@dataclass(frozen=True, slots=True)
class InkMapPicture:
    """All inks added up as a picture in steps, least first, and what was measured on it.

    `numbers` are the findings about ink, by their numbers.
    """

    picture: Picture
    steps: tuple[Swatch, ...]
    limit_percent: float
    greatest_percent: float
    mean_percent: float
    over_mm2: float
    unknown_mm2: float = 0.0
    """Area of paint that has no ink amounts."""
    numbers: tuple[int, ...] = ()
    converted_by: str = ""
    """The output profile that RGB and Lab paint is counted by, in words; empty for none."""


@dataclass(frozen=True, slots=True)
class Printed:
    """What a page comes to in print: its plates, its ink, and how the inks look.

    `condition` names the paper and the characterisation; `swatches` show paper, solids and
    overprints; `remarks` are what the pictures do not show as the press would print it.
    """

    condition: str
    plates: tuple[PlatePicture, ...]
    ink_map: InkMapPicture
    swatches: tuple[Swatch, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ProofPage:
    """One page of art (1-based `number`) with its picture over trim, bleed and a margin."""

    number: int
    page_index: int
    """Index (0-based) into the spec's pages: which face of the piece this is."""
    picture: Picture
    insets: tuple[Inset, ...] = ()
    printed: Printed | None = None
    condition: str = ""
    """The paper and the characterisation that the picture is shown by, in words."""
    words: tuple[Box, ...] = ()
    """Where type stands, in mm, that nothing is to be drawn over."""
    remarks: tuple[str, ...] = ()
    """What the picture does not show as the press would print it."""


@dataclass(frozen=True, slots=True)
class ProofPart:
    """One part as the proof shows it; `pages` is empty when the file could not be read."""

    result: PartResult
    spec: Spec | None
    pages: tuple[ProofPage, ...] = ()


@dataclass(frozen=True, slots=True)
class ComparedPage:
    """One page then and now: what changed on it, and how it looked before, looks now, and differs.

    Pictures are None where a page could not be drawn, or nothing differs.
    """

    changes: PageChanges
    page_index: int = 0
    """Index (0-based) into the spec's pages."""
    before: Picture | None = None
    after: Picture | None = None
    difference: Picture | None = None
    shown_by: tuple[str, str] = ("", "")
    """The paper and characterisation, or the profile, that each is shown by."""


@dataclass(frozen=True, slots=True)
class ComparedPart:
    """One part then and now, as the proof of a comparison shows it."""

    changes: PartChanges
    spec: Spec | None
    pages: tuple[ComparedPage, ...] = ()


@dataclass(frozen=True, slots=True)
class Signed:
    """A sign-off: which of the choices on the page (from 0), who, when and in what way."""

    choice: int
    name: str
    on: date
    how: str
    remarks: str = ""
