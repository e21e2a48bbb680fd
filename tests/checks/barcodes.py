"""Sleeves that carry a barcode, for tests: bars as python-barcode encodes them, drawn in mm.

python-barcode (MIT licence) works the number out to modules; only their drawing is ours. All
numbers are under the GS1 prefix 952, for demonstrations, unless a published example is meant.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import barcode
import numpy as np
from PIL import Image

from prepcheck.art.open import open_art
from prepcheck.geometry import Box, Point
from prepcheck.measure.trim import locate_trim
from prepcheck.order import Order, OrderHead, OrderPart
from prepcheck.press.separate.plates import make_plates
from prepcheck.press.separate.printed import printed_view
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.spec.load import load_spec
from prepcheck.spec.model import Spec
from tests.checks.exams import sleeve_spec
from tests.factories import Pdf, Stream

EAN = "9521234567899"
FACE = 80.0
"""Width and height of the faces in mm; the spine is 3 mm wide, the bleed 3 mm."""
AT = Point(-41.5, 0.0)
"""Centre of the back."""
PPI = 220.0


@dataclass
class Bars:
    """A symbol to draw, its block of bars centred on `at`, turned anticlockwise.

    `paint` and `ground` are PDF operators that set a fill colour. `quiet` is the free ground left
    and right in mm; a bar in `blocker` paint stands behind it. `gain` is added to every bar.
    """

    modules: str = ""
    x: float = 0.33
    height: float = 22.85
    at: Point = AT
    turn: float = 0.0
    paint: str = "0 0 0 1 k"
    ground: str | None = None
    quiet: tuple[float, float] | None = None
    blocker: str = "0 0 0 1 k"
    gain: float = 0.0
    drawn: bool = True
    extra: str = ""
    resources: dict[str, dict[str, object]] = field(default_factory=dict)

    @property
    def width(self) -> float:
        return len(self.modules) * self.x

    def content(self) -> str:
        """Return the drawing in mm, with the block's lower left corner at the origin."""
        lines = []
        if self.ground is not None:
            lines.append(f"{self.ground} -6 -6 {self.width + 12} {self.height + 12} re f")
        if self.quiet is not None:
            left, right = self.quiet
            lines.append(f"{self.blocker} {-left - 2} 0 2 {self.height} re f")
            lines.append(f"{self.blocker} {self.width + right} 0 2 {self.height} re f")
        lines.append(self.paint)
        for start, end in bars_of(self.modules) if self.drawn else ():
            low, high = start * self.x - self.gain / 2, end * self.x + self.gain / 2
            lines.append(f"{low:.5f} 0 {high - low:.5f} {self.height} re f")
        return "\n".join([*lines, self.extra])


def ean13(digits: str) -> str:
    """Return the modules of an EAN-13 as python-barcode has them; the check digit may be wrong."""
    made = barcode.get_barcode_class("ean13")(digits[:12])
    if made.get_fullcode() == digits:
        return str(made.build()[0])
    made.ean = digits
    return str(made.build()[0])


def modules_of(kind: str, digits: str) -> str:
    """Return the modules of any symbology that python-barcode knows."""
    return str(barcode.get_barcode_class(kind)(digits).build()[0])


def pictured(
    ppi: float,
    *,
    times: int = 1,
    kernel: Image.Resampling = Image.Resampling.BICUBIC,
    rgb: bool = False,
    beside: float = 4.0,
) -> Bars:
    """Return an EAN-13 as a picture of so many samples an inch, blown up by `times` after that.

    Samples are the mean of what they cover. The picture reaches `beside` mm past the bars.
    """
    bars = Bars(ean13(EAN), drawn=False)
    samples = [round(mm / 25.4 * ppi) for mm in (bars.width + 2 * beside, bars.height)]
    fine = 16
    row = np.full(samples[0] * fine, 255, np.uint8)
    for start, end in bars_of(bars.modules):
        low, high = ((beside + at * bars.x) / 25.4 * ppi * fine for at in (start, end))
        row[round(low) : round(high)] = 0
    means = row.reshape(samples[0], fine).mean(axis=1).round().astype(np.uint8)
    image = Image.fromarray(np.repeat(means[None, :], samples[1], axis=0))
    if times > 1:
        image = image.resize((samples[0] * times, samples[1] * times), kernel)
    image = image.convert("RGB") if rgb else image
    entries = {
        "Type": "XObject",
        "Subtype": "Image",
        "Width": image.width,
        "Height": image.height,
        "ColorSpace": "DeviceRGB" if rgb else "DeviceGray",
        "BitsPerComponent": 8,
    }
    stream = Stream(image.tobytes(), entries, deflate=True)
    wide, high = (count / ppi * 25.4 for count in samples)
    bars.extra = f"q {wide:.6f} 0 0 {high:.6f} {-beside} 0 cm /Bars Do Q"
    bars.resources = {"XObject": {"Bars": stream}}
    return bars


_ODD = (
    "0001101", "0011001", "0010011", "0111101", "0100011",
    "0110001", "0101111", "0111011", "0110111", "0001011",
)  # fmt: skip
_EVEN = ["".join("01"[bar == "0"] for bar in reversed(code)) for code in _ODD]
_PARITY_2 = ("OO", "OE", "EO", "EE")
_PARITY_5 = (
    "EEOOO", "EOEOO", "EOOEO", "EOOOE", "OEEOO", "OOEEO", "OOOEE", "OEOEO", "OEOOE", "OOEOE",
)  # fmt: skip


def add_on(digits: str) -> str:
    """Return the modules of an add-on of two or five digits (ISO/IEC 15420, tables from memory)."""
    if len(digits) == 2:
        parity = _PARITY_2[int(digits) % 4]
    else:
        weighed = sum(int(d) * (3, 9)[at % 2] for at, d in enumerate(digits))
        parity = _PARITY_5[weighed % 10]
    codes = [{"O": _ODD, "E": _EVEN}[p][int(d)] for p, d in zip(parity, digits, strict=True)]
    return "1011" + "01".join(codes)


def bars_of(modules: str) -> list[tuple[int, int]]:
    """Return where each bar begins and ends, in modules."""
    padded = np.array([0, *(int(one) for one in modules), 0])
    steps = np.diff(padded)
    return list(zip(np.flatnonzero(steps == 1), np.flatnonzero(steps == -1), strict=True))


def spec_with_barcode(**changes: Any) -> Spec:
    """Return a small sleeve with the barcode limits of the shipped jackets."""
    shipped = load_spec("jacket-12in")
    rules = shipped.barcode
    assert rules is not None
    sources = {k: v for k, v in shipped.sources.items() if k.startswith("barcode.")}
    pinned = sleeve_spec(FACE, FACE)
    return pinned.replaced(
        **{
            "barcode": rules.replaced(**changes.pop("rules", {})),
            "print_condition": "coated-board",
            "sources": {**pinned.sources, **sources},
            **changes,
        }
    )


def sleeve(
    folder: Path,
    *symbols: Bars,
    number: str | None = EAN,
    spec: Spec | None = None,
    ppi: float = PPI,
) -> Exam:
    """Return a sleeve that carries symbols, as part of an order that gives `number`."""
    spec = spec or spec_with_barcode()
    path = folder / "sleeve.pdf"
    path.write_bytes(sleeve_pdf(symbols, spec))
    return examined(path, spec, number, ppi)


def sleeve_pdf(symbols: Sequence[Bars], spec: Spec) -> bytes:
    """Return a PDF of a sleeve that carries symbols, with 3 mm of bleed."""
    bounds = spec.outline_of().bounds
    width, height = bounds.width + 6, bounds.height + 6
    content: list[str] = []
    resources: dict[str, dict[str, object]] = {}
    for bars in symbols:
        cos, sin = math.cos(math.radians(bars.turn)), math.sin(math.radians(bars.turn))
        x, y = bars.at.x + width / 2, bars.at.y + height / 2
        content.append(
            f"q {cos:.9f} {sin:.9f} {-sin:.9f} {cos:.9f} {x:.6f} {y:.6f} cm "
            f"1 0 0 1 {-bars.width / 2:.6f} {-bars.height / 2:.6f} cm\n{bars.content()}\nQ"
        )
        resources.update(bars.resources)
    pdf = Pdf()
    made = {
        kind: {
            name: pdf.add(one) if isinstance(one, Stream) else one for name, one in table.items()
        }
        for kind, table in resources.items()
    }
    trim = (3, 3, width - 3, height - 3)
    pdf.page("\n".join(content), (width, height), trim_mm=trim, resources=made)
    return pdf.bytes()


def examined(path: Path, spec: Spec, number: str | None = EAN, ppi: float = PPI) -> Exam:
    """Return an art file as a part under examination."""
    artwork = open_art(path)
    sheets = []
    for index, page in enumerate(artwork.pages):
        outline = spec.outline_of(index)
        placement = locate_trim(page, outline, 3.0, 1.0, True, ())
        box = outline.bounds.grown(6.0)
        plates = make_plates(page, placement.to_piece, box, ppi)
        sheets.append(
            Sheet(
                index + 1, page, outline, placement,
                render=lambda _, made=plates: printed_view(made),
                separate=lambda _, made=plates: made,
            )
        )  # fmt: skip
    head = OrderHead(
        number="1", client="Lantern Fold Records", title="Low Water", catalogue="LFR 017",
        format="12-inch", barcode=number,
    )  # fmt: skip
    part = OrderPart(name="jacket", file=path.name)
    return Exam(spec, artwork, tuple(sheets), part, Order(order=head, part=(part,)))


def block(bars: Bars) -> Box:
    """Return the block of bars as drawn, before turning."""
    return Box.centred(bars.width, bars.height, bars.at)
