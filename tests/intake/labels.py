"""Labels and orders made for deliveries: type by ReportLab, no code shared with our reader."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

MM = 72 / 25.4


def label_pages(pages: Sequence[Sequence[str]], trim: float = 100.0, bleed: float = 3.0) -> bytes:
    """Return a PDF of round labels, a page for each list of lines of type."""
    out = io.BytesIO()
    side = (trim + 2 * bleed) * MM
    canvas = Canvas(out, pagesize=(side, side), invariant=1)
    for lines in pages:
        canvas.setTrimBox((bleed * MM, bleed * MM, side - bleed * MM, side - bleed * MM))
        canvas.setFillColorCMYK(0.2, 0.0, 0.3, 0.0)
        canvas.circle(side / 2, side / 2, side / 2, stroke=0, fill=1)
        canvas.setFillColorCMYK(0, 0, 0, 1)
        for index, line in enumerate(lines):
            canvas.setFont("Helvetica", 9)
            canvas.drawCentredString(side / 2, side * 0.8 - index * 14, line)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def side_lines(side: str, *, said: bool = True) -> list[str]:
    titles = {"A": "Lamps Out at Nine", "B": "Owl Ledger", "C": "Small Hours", "D": "A Rumour"}
    return [f"Side {side}" if said else "", titles[side], "LFR 022"]


def order_of(
    folder: Path,
    sides: str,
    *,
    files: dict[str, str] | None = None,
    more: str = "",
    expect: bool = True,
    name: str = "order.toml",
) -> Path:
    """Write an order of labels, a part for each side."""
    text = (
        '[order]\nnumber = "FH-2231-1"\nclient = "Lanternfold"\ntitle = "The Fern Hours"\n'
        f'catalogue = "LFR 022"\nformat = "12-inch"\ndiscs = {len(sides) // 2}\n'
    )
    for side in sides:
        text += f'[[part]]\nname = "Label {side}"\nside = "{side}"\nspec = "label-12in"\n'
        if files and side in files:
            text += f'file = "{files[side]}"\n'
        if expect:
            text += f'expect = ["{side_lines(side)[1]}"]\n'
    path = folder / name
    path.write_text(text + more, encoding="utf-8")
    return path
