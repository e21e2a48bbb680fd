"""What a document says of itself and of its pages: boxes, annotations, layers, fonts, intents."""

from __future__ import annotations

from prepcheck.frozen import dataclass
from prepcheck.geometry import Box


@dataclass(frozen=True)
class PageBoxes:
    """The five page boxes in mm in the page's frame, each clipped to the MediaBox.

    None for a box the page does not state; `media` is always there.
    """

    media: Box
    crop: Box | None = None
    bleed: Box | None = None
    trim: Box | None = None
    art: Box | None = None
    cut: tuple[str, ...] = ()
    """Names of the boxes that the page states larger than its MediaBox."""


@dataclass(frozen=True)
class Annotation:
    """An annotation: its subtype, its box in the page's frame, and whether it prints."""

    subtype: str
    box: Box
    prints: bool


@dataclass(frozen=True)
class Layer:
    """An optional-content group. `step` is (group, type) of an ISO 19593-1 processing step."""

    name: str
    visible: bool
    prints: bool
    step: tuple[str, str | None] | None = None


@dataclass(frozen=True)
class FontFacts:
    """A font named by the document."""

    name: str
    subtype: str
    embedded: bool


@dataclass(frozen=True)
class OutputIntent:
    """An output intent (ISO 32000-2, 14.11.5)."""

    subtype: str
    condition: str | None
    info: str | None
    registry: str | None
    has_profile: bool
    profile: bytes | None = None


@dataclass(frozen=True)
class DocumentFacts:
    """What a PDF says of itself as a whole; mostly empty for other kinds."""

    version: str | None = None
    encrypted: bool = False
    pdfx: str | None = None
    """The PDF/X version claimed, such as 'PDF/X-4'."""
    trapped: str | None = None
    producer: str | None = None
    output_intents: tuple[OutputIntent, ...] = ()
    layers: tuple[Layer, ...] = ()
    scripts: tuple[str, ...] = ()
    """Where scripts or actions sit, in words."""
    form_fields: int = 0
    embedded_files: tuple[str, ...] = ()
    media: tuple[str, ...] = ()
    troubles: tuple[str, ...] = ()
    """Damage that was mended while reading, one sentence each."""
    stray_bytes: int = 0
    """Bytes before the header that are no blanks: the file does not begin as a PDF."""
