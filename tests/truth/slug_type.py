"""Small, stretched and many-inked type is a fault on the piece; outside the trim, where job names
and dates stand, nobody has to read it.

Truth by construction: the same line of type stands wholly outside the trim, within it, or across.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from reportlab.lib.colors import CMYKColor
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Severity
from prepcheck.spec.model import Spec
from tests.truth._page import BLACK, FONT, RIM, SLEEVE, drawn, exam_of, type_at, worst_of
from tests.truth.case import Case

CLASS = "type outside the trim"
SEEDS = 30
FAST = 3
KINDS = ("small", "stretched", "several")
CHECKS = {"small": "text.small", "stretched": "text.stretched", "several": "ink.small-type"}
MARGIN = 8.0
MM_PT = 25.4 / 72
SLUG = "job 4711 side A"


def cases(seed: int) -> Iterator[Case]:
    kind, sleeve = KINDS[seed % len(KINDS)], seed // 3 % 3 == 2
    where = "sleeve" if sleeve else "label"
    yield Case(f"{where}, {kind}, outside", False, (seed, sleeve, kind, "outside"))
    faulty = ("within", "across")[seed // 3 % 2]
    yield Case(f"{where}, {kind}, {faulty}", True, (seed, sleeve, kind, faulty))


def judge(case: Case) -> Severity | None:
    seed, sleeve, kind, where = case.held
    exam = exam_of(drawn(partial(_draw, seed, sleeve, kind, where), sleeve, MARGIN), sleeve)
    return worst_of(replace(exam, spec=_with_limits(exam.spec)), (CHECKS[kind],))


def _with_limits(spec: Spec) -> Spec:
    """Return a spec that asks for few inks in small type."""
    text = spec.text.replaced(wanted_several_pt=9.0)
    ink = spec.ink.replaced(most_fine_inks=1)
    return spec.replaced(text=text, ink=ink)


def _draw(seed: int, sleeve: bool, kind: str, where: str, canvas: Canvas) -> None:
    rng = random.Random(f"slug{seed}")
    points = rng.uniform(3.0, 4.5) if kind == "small" else rng.uniform(7.0, 8.5)
    size = points * MM_PT
    colour = CMYKColor(0.9, 0.8, 0.2, 0) if kind == "several" else BLACK
    stretch = rng.uniform(1.2, 1.5) if kind == "stretched" else 1.0
    pdfmetrics.registerFont(TTFont("Drawn", str(FONT)))
    wide = pdfmetrics.stringWidth(SLUG, "Drawn", size) * stretch
    edge = SLEEVE.y1 if sleeve else RIM
    # The line's foot lies under the trim's highest place, or above it by what it descends and more.
    foot = {
        "outside": edge + 0.3 * size + rng.uniform(0.2, 3.5),
        "within": edge - rng.uniform(8.0, 20.0),
        "across": edge - 0.4 * size,
    }[where]
    if not sleeve:
        canvas.rotate(rng.uniform(0, 360))
    canvas.translate(30 - wide / 2 if sleeve else -wide / 2, foot)
    canvas.scale(stretch, 1)
    type_at(canvas, SLUG, size, 0, 0, 0, colour)
