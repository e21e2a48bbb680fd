"""What a PDF says of itself: version, PDF/X, output intents, trapping, producer."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from pypdf.generic import DictionaryObject

from prepcheck.art.facts import OutputIntent
from prepcheck.art.limits import Limits
from prepcheck.art.pdf.objects import entry, items, name, object_number, stream, text
from prepcheck.art.pdf.streams import decoded
from prepcheck.errors import ArtworkError, BudgetError

HEADER = re.compile(rb"%PDF-(\d\.\d)")
_X_CLAIM = re.compile(r"PDF/X-\d[\w+:\-/ ]{0,20}")


class Claims(NamedTuple):
    """Statements in the Info dictionary and the XMP packet."""

    pdfx: str | None
    trapped: str | None
    producer: str | None
    troubles: tuple[str, ...]


NOTHING = Claims(None, None, None, ())


def version(header: bytes, catalog: DictionaryObject) -> str | None:
    """Return the later of the header's version and the catalog's (7.5.2, 7.7.2)."""
    found = HEADER.search(header)
    stated = text(catalog, "Version") or ""
    versions = [found[1].decode()] if found else []
    versions += [stated] if re.fullmatch(r"\d\.\d", stated) else []
    return max(versions, default=None)


def claims(info: object, catalog: DictionaryObject, limits: Limits) -> Claims:
    """Return what the Info dictionary and XMP claim.

    PDF/X-1a and X-3 state GTS_PDFXVersion, and X-1a GTS_PDFXConformance, in Info (ISO 15930-1
    to -6); from X-4 on it stands in XMP as pdfxid:GTS_PDFXVersion (ISO 15930-7).
    """
    packet = _xmp(catalog, limits)
    conformance = text(info, "GTS_PDFXConformance") or ""
    by_info = text(info, "GTS_PDFXVersion")
    if by_info and _X_CLAIM.fullmatch(conformance):
        by_info = conformance
    by_xmp = _property(packet, "GTS_PDFXVersion")
    troubles = []
    if by_info and by_xmp and not _same_claim(by_info, by_xmp):
        troubles.append(f"Info claims {by_info}, the XMP metadata {by_xmp}")
    return Claims(
        by_xmp or by_info or None,
        text(info, "Trapped") or _property(packet, "Trapped"),
        text(info, "Producer") or _property(packet, "Producer"),
        tuple(troubles),
    )


def _same_claim(a: str, b: str) -> bool:
    """PDF/X-1:2001 in one place and PDF/X-1a:2001 in the other are one claim."""
    return a.replace("X-1a", "X-1") == b.replace("X-1a", "X-1")


def _xmp(catalog: DictionaryObject, limits: Limits) -> str:
    metadata = stream(catalog, "Metadata")
    if metadata is None:
        return ""
    try:
        data = decoded(metadata, limits)
    except BudgetError:
        raise
    except ArtworkError:
        return ""
    for mark, encoding in ((b"\xfe\xff", "utf-16-be"), (b"\xff\xfe", "utf-16-le")):
        if data.startswith(mark):
            return data.decode(encoding, "replace")
    return data.decode("utf-8", "replace")


def _property(packet: str, key: str) -> str | None:
    """Return a simple XMP property, written as an element or an attribute.

    Read by pattern, since packets in the field are often no well-formed XML.
    """
    found = re.search(
        rf"[\w-]+:{key}\s*(?:=\s*(?:\"([^\"<]{{1,200}})\"|'([^'<]{{1,200}})')|>\s*([^<]{{1,200}})<)",
        packet,
    )
    value = next((part for part in found.groups() if part), "") if found else ""
    return value.strip() or None


def output_intents(
    catalog: DictionaryObject, pages: Sequence[DictionaryObject], limits: Limits
) -> tuple[OutputIntent, ...]:
    """Return the output intents of the document, then those of pages (PDF 2.0), each once."""
    seen: set[int] = set()
    found: list[OutputIntent] = []
    for holder in (catalog, *pages):
        for intent in items(entry(holder, "OutputIntents")):
            number = object_number(intent) or -id(intent)
            if not isinstance(intent, DictionaryObject) or number in seen:
                continue
            seen.add(number)
            profile = stream(intent, "DestOutputProfile")
            found.append(
                OutputIntent(
                    subtype=name(intent, "S") or "",
                    condition=text(intent, "OutputConditionIdentifier"),
                    info=text(intent, "Info") or text(intent, "OutputCondition"),
                    registry=text(intent, "RegistryName"),
                    has_profile=profile is not None,
                    profile=None if profile is None else _profile(profile, limits),
                )
            )
    return tuple(found)


def _profile(source: object, limits: Limits) -> bytes | None:
    holder = stream({"/P": source}, "P")
    try:
        data = b"" if holder is None else decoded(holder, limits)
    except BudgetError:
        raise
    except ArtworkError:
        return None
    return data if data[36:40] == b"acsp" else None
