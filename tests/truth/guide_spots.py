"""Spots named as lines of a template, in many languages, wherever they lie; the same on a layer of
processing steps, and inks with names that only come near.

Truth by construction: words of the trade, from memory.
"""

from __future__ import annotations

import contextlib
import io
import random
from collections.abc import Iterator

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    NameObject,
    TextStringObject,
)
from reportlab.lib.colors import CMYKColor, CMYKColorSep
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from tests.truth._page import RIM, drawn, exam_of, ground, tone, type_at, worst_of
from tests.truth.case import Case

CLASS = "spots named as guides"
SEEDS = 60
FAST = 2
CHECKS = ("guide.printing", "colour.spot-clash", "colour.inks")
NAMES = (
    "CutContour", "Die Line", "Trim", "Crease", "fold lines", "Safe Area", "Bleed", "Guides",
    "Punch hole", "Stanzkontur", "Rilllinie", "Falz", "Beschnitt", "Hilfslinie", "Lochung",
    "Découpe", "Trait de coupe", "Rainage", "Pli", "Fond perdu", "Troquel", "Línea de corte",
    "Plegado", "Sangrado", "Guía", "Fustella", "Taglio", "Piega", "Abbondanza", "Cordonatura",
    "Stanslijn", "Snijlijn", "Rillijn", "Vouwlijn", "Afloop", "Wykrojnik", "Linia cięcia",
    "Bigowanie", "Spad", "Zagięcie", "Výsek", "Ořez", "Spadávka", "Ohyb", "Faca", "Vinco",
    "Corte e vinco", "Sangria", "Dobra", "Stansning", "Skärlinje", "Viklinje", "Utfall",
    "抜き型", "トリム", "折り線", "塗り足し", "ガイド", "do-not-print cut", "thru-cut",
)  # fmt: skip
INKS = (
    "PANTONE 871 C", "Pantone Safety Orange C", "Diesel Blue", "Safari", "Creme", "Foldgold",
    "Fruit Punch", "Die Rote", "Gold", "Silver", "White", "Warm Red", "HKS 43 K", "Guidance Blue",
    "Cutty Green", "Rojo Sangre", "Façade Blue", "Bordeaux", "Moutarde", "Trimester",
)  # fmt: skip
PROCESS = ((0.0, 1.0, 0.0, 0.0), (1.0, 0.0, 0.0, 0.0))
PLACES = ("elsewhere", "on the trim", "off the art", "odd shape")


def cases(seed: int) -> Iterator[Case]:
    place = PLACES[seed % len(PLACES)]
    if seed % 6 == 5:
        yield Case("'Technik 7' laid out like one", True, (seed, "Technik 7", "laid out"))
    else:
        name = NAMES[seed % len(NAMES)]
        yield Case(f"'{name}' {place}", True, (seed, name, place))
    if seed % 2:
        name = NAMES[(seed * 7) % len(NAMES)]
        yield Case(f"'{name}' on a layer of steps", False, (seed, name, "steps"))
    else:
        name = INKS[(seed // 2) % len(INKS)]
        yield Case(f"the ink '{name}'", False, (seed, name, "art"))


def judge(case: Case) -> Severity | None:
    seed, name, place = case.held
    rng = random.Random(f"spots{seed}")
    stands_for = rng.choice(((0.0, 0.95, 0.1, 0.0), (0.3, 0.9, 0.0, 0.0), (0.9, 0.1, 0.4, 0.0)))
    if place == "steps":
        stands_for = rng.choice(PROCESS)
    return worst_of(exam_of(page_of(seed, name, place, stands_for)), CHECKS)


def page_of(seed: int, name: str, place: str, stands_for: tuple[float, ...]) -> bytes:
    """Return a page on which a spot of a name is used at a place, with a stand-in in CMYK."""
    rng = random.Random(f"page{seed}")
    # reportlab escapes a name letter by letter; a name's bytes are UTF-8 (ISO 32000-2, 7.3.5), or
    # as programs wrote them before that was asked for.
    spot = CMYKColorSep(*stands_for, spotName=_raw(name, seed).decode("latin-1"))
    beneath = tone(rng, 0.3)

    def art(canvas: Canvas) -> None:
        ground(canvas, beneath)
        type_at(canvas, "Invented", 5, -15, 15, 0, CMYKColor(0, 0, 0, 1))

    def lines(canvas: Canvas) -> None:
        canvas.setStrokeColor(spot)
        canvas.setFillColor(spot)
        canvas.setLineWidth(0.25)
        if place == "elsewhere":
            canvas.rect(-20, -20, rng.uniform(5, 20), rng.uniform(5, 12), stroke=1, fill=0)
        elif place == "odd shape":
            canvas.circle(rng.uniform(-15, 15), 20, rng.uniform(2, 6), stroke=1, fill=0)
        elif place == "off the art":
            canvas.circle(51.5, 51.5, 1, stroke=1, fill=0)
        elif place == "laid out":
            half = rng.uniform(36, 44)
            canvas.rect(-half, -half, 2 * half, 2 * half, stroke=1, fill=0)
            canvas.circle(0, 0, half - 2, stroke=1, fill=0)
        elif place == "art":
            canvas.circle(0, 20, rng.uniform(3, 8), stroke=0, fill=1)
            canvas.circle(0, 0, 40, stroke=1, fill=0)
        else:
            canvas.circle(0, 0, RIM, stroke=1, fill=0)
            canvas.circle(0, 0, 3.62, stroke=1, fill=0)

    if place == "steps":
        return _with_layer(drawn(art), drawn(lines))
    return drawn(lambda canvas: (art(canvas), lines(canvas))[0])


def _raw(name: str, seed: int) -> bytes:
    """Return a name's bytes: in UTF-8, or of two seeds in three in an older set that holds it."""
    for charset in ((), ("cp1252", "cp1250", "shift-jis"), ("mac-roman", "gbk"))[seed // 2 % 3]:
        with contextlib.suppress(UnicodeEncodeError):
            return name.encode(charset)
    return name.encode()


def _with_layer(art: bytes, lines: bytes) -> bytes:
    """Return art with lines on a layer of its own, marked as a cut (ISO 19593-1)."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(art)))
    writer.append(PdfReader(io.BytesIO(lines)))
    page, other = writer.pages[0], writer.pages[1]
    layer = writer._add_object(DictionaryObject({
        NameObject("/Type"): NameObject("/OCG"), NameObject("/Name"): TextStringObject("cut"),
        NameObject("/GTS_Metadata"): DictionaryObject({
            NameObject("/GTS_ProcStepsGroup"): NameObject("/Structural"),
            NameObject("/GTS_ProcStepsType"): NameObject("/Cutting"),
        }),
    }))  # fmt: skip
    content = other.get_contents()
    assert content is not None
    form = DecodedStreamObject()
    form.set_data(content.get_data())
    form.update({
        NameObject("/Type"): NameObject("/XObject"), NameObject("/Subtype"): NameObject("/Form"),
        NameObject("/BBox"): other["/MediaBox"], NameObject("/Resources"): other["/Resources"],
    })  # fmt: skip
    resources = page["/Resources"].get_object()
    resources[NameObject("/XObject")] = DictionaryObject(
        {NameObject("/Cut"): writer._add_object(form)}
    )
    resources[NameObject("/Properties")] = DictionaryObject({NameObject("/Steps"): layer})
    more = DecodedStreamObject()
    more.set_data(b"\n/OC /Steps BDC /Cut Do EMC\n")
    own = page.get_contents()
    assert own is not None
    first = DecodedStreamObject()
    first.set_data(b"q\n" + own.get_data() + b"\nQ\n")
    page[NameObject("/Contents")] = ArrayObject(
        [writer._add_object(first), writer._add_object(more)]
    )
    writer._root_object[NameObject("/OCProperties")] = DictionaryObject({
        NameObject("/OCGs"): ArrayObject([layer]),
        NameObject("/D"): DictionaryObject({
            NameObject("/Name"): TextStringObject("all"), NameObject("/ON"): ArrayObject([layer]),
            NameObject("/Order"): ArrayObject([layer]),
        }),
    })  # fmt: skip
    writer.remove_page(1)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
