"""Type and lines too fine to print that are no live type and no plain line: type turned into
outlines or drawn by procedures, strokes under an uneven scale, strokes of type, what a clip leaves,
gaps between dark bars.

Truth by construction: glyphs of open fonts placed at a known size by `tests/outlined.py`, and boxes
and lines of known width. Sound twins are the same at sizes that print, fades cut into strips, and
small ornaments.
"""

from __future__ import annotations

import math
import random
import tempfile
from collections.abc import Iterator
from pathlib import Path

from prepcheck.findings import Severity
from tests.factories import PT, Pdf, Stream
from tests.outlined import FACES, Set, outlines
from tests.truth._run import worst
from tests.truth.case import Case

CLASS = "fine type and lines, drawn otherwise"
SEEDS = 30
FAST = 1
SIDE = 56.0
SMALL, THIN = "text.small", "line.thin"
WORDS = (
    "Lanternfold Recordings", "All rights of the producer", "Kein Licht im Hafen", "Side A 33 rpm",
    "LFR 204 STEREO", "Norrsken över fältet", "Halden Orrery", "MADE IN THE HARBOUR",
)  # fmt: skip

DASHED = ("Halden — Orrery", "Side A | 33 rpm", "LAMPS OUT — NINE", "Lamps Out — | — Dry Dock")
"""Words with signs that are lines by their shape."""


def type_3(rng: random.Random, pdf: Pdf, pt: float) -> tuple[str, dict[str, object]]:
    """Return a word in a font of procedures, whose own unit is any, set at `pt`."""
    unit = rng.choice((1.0, 0.001, 0.37, 12.0))
    em = 1 / unit
    boxes = {"H": 0.7, "d": 0.7, "a": 0.5, "n": 0.5, "p": 0.7}
    procedures = {}
    for sign, high in boxes.items():
        low = -0.2 * em if sign == "p" else 0.0
        wide = 0.4 * em
        drawn = f"{0.5 * em} 0 0 {low} {wide} {low + high * em} d1\n"
        stem = 0.09 * em
        drawn += f"0 {low} {stem} {high * em} re {wide - stem} 0 {stem} {high * em + low} re f"
        procedures[sign] = pdf.add(Stream(drawn.encode()))
    codes = sorted(map(ord, boxes))
    widths = [0.5 * em if chr(c) in boxes else 0 for c in range(codes[0], codes[-1] + 1)]
    size = pt / PT
    font = {
        "Type": "Font", "Subtype": "Type3", "FontBBox": [0, 0, 0, 0], "FirstChar": codes[0],
        "LastChar": codes[-1], "Widths": widths, "FontMatrix": [unit, 0, 0, unit, 0, 0],
        "CharProcs": procedures,
        "Encoding": {"Differences": [c for code in codes for c in (code, chr(code))]},
    }  # fmt: skip
    turn = math.radians(rng.choice((0, 90, 15)))
    c, s = math.cos(turn), math.sin(turn)
    own = rng.choice((1.0, size))
    tm = size / own
    return (
        f"BT /T {own:.5f} Tf {c * tm:.6f} {s * tm:.6f} {-s * tm:.6f} {c * tm:.6f} 15 20 Tm "
        "(Handpan) Tj ET\n",
        {"Font": {"T": pdf.add(font)}},
    )


def _turned(turn: float, off: float, wide: float, long: float) -> str:
    """Return a clip to a turned box so far beside the sticker's middle."""
    c, s = math.cos(turn), math.sin(turn)
    corners = [(off, -long / 2), (off + wide, -long / 2), (off + wide, long / 2), (off, long / 2)]
    path = [f"{28 + x * c - y * s:.4f} {28 + x * s + y * c:.4f}" for x, y in corners]
    return f"q {path[0]} m " + " ".join(f"{at} l" for at in path[1:]) + " h W n\n"


def art(kind: str, fine: bool, rng: random.Random) -> bytes:
    """Return a sticker that carries one thing, too fine or not."""
    pdf = Pdf()
    resources: dict[str, object] = {}
    pt = rng.uniform(2.4, 4.4) if fine else rng.uniform(5.6, 10)
    width = rng.uniform(0.04, 0.12) if fine else rng.uniform(0.27, 0.6)
    out = "0 0 0 1 k 0 0 0 1 K\n"
    if kind == "outlined":
        words, face = rng.choice(WORDS), rng.choice(sorted(FACES))
        if rng.random() < 0.4:
            line = Set(words, 28, 28, pt, face, rng.uniform(0, 360), rng.uniform(10, 18),
                       rng.random() < 0.5)  # fmt: skip
        else:
            line = Set(words, 28, 28, pt, face, rng.choice((0, 0, 90, 180, rng.uniform(0, 360))))
        out += outlines(line)
    elif kind in ("covered outlined", "half covered outlined"):
        turn = rng.choice((0, 0, 90, rng.uniform(0, 360)))
        words, face = rng.choice(WORDS), rng.choice(sorted(FACES))
        out += outlines(Set(words, 28, 28, pt, face, turn))
        # A line turned about the middle is halved by any edge through it.
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        low = -40 if kind.startswith("covered") else 0
        corners = [
            (x * c - y * s, x * s + y * c) for x, y in ((low, -9), (40, -9), (40, 9), (low, 9))
        ]
        path = [f"{28 + x:.4f} {28 + y:.4f}" for x, y in corners]
        cover = [f"{rng.uniform(0, 0.7):.2f}" for _ in range(3)]
        out += f"{' '.join(cover)} 0 k {path[0]} m " + " ".join(f"{at} l" for at in path[1:])
        out += " h f\n"
    elif kind.endswith("procedures"):
        drawn, resources = type_3(rng, pdf, pt)
        out += drawn
        if kind != "procedures":
            # Type that begins at 15, 20, turns by up to a right angle, and is 3 to 5 mm long.
            cover = " ".join(f"{rng.uniform(0, 0.7):.2f}" for _ in range(3))
            size = "20 20" if kind.startswith("covered") else "8.2 6.2"
            out += f"{cover} 0 k 8 15 {size} re f\n"
    elif kind in ("dashed", "underlined"):
        words, face = rng.choice(DASHED), rng.choice(sorted(FACES))
        turn = rng.choice((0, 90, rng.uniform(0, 360)))
        light = rng.random() < 0.5
        size = rng.uniform(7.6, 9) if light else rng.uniform(5.2, 7)
        if light:
            out = "0.8 0.6 0 0.4 k 0 0 56 56 re f 0 0 0 0 k 0 0 0 0 K\n"
        out += outlines(Set(words, 28, 28, size, face, turn, apart=True))
        if kind == "underlined":
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            ends = [(28 + x * c + s, 28 + x * s - c) for x in (-6, 6)]
            out += f"{width:.4f} w {ends[0][0]} {ends[0][1]} m {ends[1][0]} {ends[1][1]} l S\n"
    elif kind == "own colour":
        face, ground = rng.choice(sorted(FACES)), "0.1 0.2 0.3 0 k"
        out = f"{ground} 0 0 56 56 re f 0 0 0 1 k\n" + outlines(Set("Lanternfold", 28, 31, 9, face))
        out += f"{ground}\n" + outlines(Set(rng.choice(WORDS), 28, 28, pt, face))
    elif kind == "letter by letter":
        resources = {"Font": {"F": pdf.add(
            {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica"})}}  # fmt: skip
        for n in range(140):
            at = f"1 0 0 1 {12 + n % 28} {20 + n // 28 * 3} Tm"
            out += f"BT /F {pt * 25.4 / 72:.3f} Tf {at} ({chr(97 + n % 26)}) Tj ET\n"
        out += "0.3 0.1 0 0 k 8 15 40 30 re f\n"
    elif kind == "uneven":
        other = rng.uniform(4, 9)
        turned = rng.random() < 0.5
        scale = (other, 1) if turned else (1, other)
        line = (28, 10, 28, 40) if not turned else (10, 28, 40, 28)
        if not fine:
            width, line = width / other, line[1::-1] + line[3:1:-1]
        x0, y0, x1, y1 = (v / scale[i % 2] for i, v in enumerate(line))
        out += f"q {scale[0]} 0 0 {scale[1]} 0 0 cm {width:.5f} w {x0} {y0} m {x1} {y1} l S Q\n"
    elif kind == "hollow":
        resources = {"Font": {"F": pdf.add(
            {"Type": "Font", "Subtype": "Type1", "BaseFont": "Helvetica-Bold"})}}  # fmt: skip
        out += f"BT /F {rng.uniform(8, 14):.2f} Tf 1 Tr {width:.4f} w 12 26 Td (Side A) Tj ET\n"
    elif kind == "sliver":
        x, y, long = rng.uniform(15, 25), rng.uniform(15, 25), rng.uniform(8, 20)
        box = (width, long) if rng.random() < 0.5 else (long, width)
        out += f"q {x} {y} {box[0]:.4f} {box[1]:.4f} re W n 5 5 46 46 re f Q\n"
    elif kind in ("sliver of a line", "covered sliver of a line"):
        x, y, long = rng.uniform(15, 25), rng.uniform(15, 25), rng.uniform(8, 20)
        off, upright, along = rng.uniform(-0.1, 0.1), rng.random() < 0.5, rng.random() < 0.5
        box = (width, long) if upright else (long, width)
        # Where it runs across the clip, a line must cover all of the clip's length.
        wide = rng.uniform(1.5, 20) if along else 60.0
        way = (
            f"{x + off} 5 m {x + off} 51 l" if upright == along else f"5 {y + off} m 51 {y + off} l"
        )
        out += f"q {x} {y} {box[0]:.4f} {box[1]:.4f} re W n {wide:.3f} w {way} S Q\n"
        if kind.startswith("covered"):
            out += "0.1 0 0 0 k 4 4 48 48 re f\n"
    elif kind == "crossed clip":
        # A frame's two upright sides cross the clip; what is left of each is a speck, no line.
        x, y = rng.uniform(10, 14), rng.uniform(15, 40)
        out += f"q {x - 2} {y} 32 0.1 re W n 0.8 w {x} 8 28 40 re S Q\n"
    elif kind == "turned sliver":
        turn, long = rng.uniform(0.05, 3.1), rng.uniform(8, 20)
        out += _turned(turn, rng.uniform(-6, 6), width, long) + "5 5 46 46 re f Q\n"
    elif kind == "covered sliver":
        turn, long = rng.uniform(0.05, 3.1), rng.uniform(8, 20)
        out += _turned(turn, rng.uniform(-6, 6), 0.1, long) + "5 5 46 46 re f Q\n"
        out += "0.1 0 0 0 k 4 4 48 48 re f\n"
    elif kind == "turned strips":
        turn, long = rng.uniform(0.05, 3.1), rng.uniform(8, 20)
        for n in range(60):
            out += _turned(turn, n * 0.2 - 6, 0.21, long)
            out += f"{0.3 + n / 100:.3f} 0 0 0 k\n10 10 36 36 re f Q\n"
    elif kind == "gap":
        x, y, long = rng.uniform(10, 20), rng.uniform(10, 20), rng.uniform(8, 20)
        one, other = rng.uniform(2, 6), rng.uniform(2, 6)
        if rng.random() < 0.5:
            out += f"{x} {y} {one} {long} re f {x + one + width:.4f} {y} {other} {long} re f\n"
        else:
            out += f"{x} {y} {long} {one} re {x} {y + one + width:.4f} {long} {other} re f\n"
    elif kind == "strips":
        steps, each = 120, 0.1
        for n in range(steps):
            out += f"q {20 + n * each:.3f} 20 {each + 0.01} 15 re W n {n / steps:.3f} 0 0 0 k\n"
            out += "10 10 40 40 re f Q\n"
    elif kind == "ornaments":
        size, many = rng.uniform(0.6, 1.1), rng.randint(8, 20)
        points = [(math.cos(a * math.pi / 5) * (1 - 0.6 * (a % 2)), math.sin(a * math.pi / 5)
                   * (1 - 0.6 * (a % 2))) for a in range(10)]  # fmt: skip
        for n in range(many):
            x = 10 + n * size * 1.5
            path = [f"{x + px * size / 2:.4f} {28 + py * size / 2:.4f}" for px, py in points]
            out += f"{path[0]} m " + " ".join(f"{at} l" for at in path[1:]) + " h f\n"
    pdf.page(out, (SIDE, SIDE), trim_mm=(3, 3, 53, 53), resources=resources)
    return pdf.bytes()


KINDS = {"outlined": SMALL, "procedures": SMALL, "uneven": THIN, "hollow": THIN, "sliver": THIN,
         "sliver of a line": THIN, "turned sliver": THIN, "gap": THIN}  # fmt: skip


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(seed)
    for kind, check in KINDS.items():
        for fine in (True, False):
            yield Case(
                f"{kind}, {'fine' if fine else 'sound'}", fine, (art(kind, fine, rng), check)
            )
    yield Case("a fade in strips", False, (art("strips", False, rng), THIN))
    yield Case("a fade in turned strips", False, (art("turned strips", False, rng), THIN))
    yield Case("a covered sliver", False, (art("covered sliver", False, rng), THIN))
    for kind in ("covered sliver of a line", "crossed clip"):
        yield Case(kind, False, (art(kind, True, rng), THIN))
    for kind in ("covered outlined", "half covered outlined"):
        yield Case(kind, kind.startswith("half"), (art(kind, True, rng), SMALL))
    for kind in ("covered procedures", "half covered procedures"):
        yield Case(kind, kind.startswith("half"), (art(kind, True, rng), SMALL))
    for kind in ("dashed", "underlined"):
        yield Case(f"{kind} outlined", kind == "underlined", (art(kind, True, rng), THIN))
    for kind in ("own colour", "letter by letter"):
        yield Case(f"{kind}, not seen", False, (art(kind, True, rng), SMALL))
    yield Case("ornaments in a row", False, (art("ornaments", False, rng), SMALL))


def judge(case: Case) -> Severity | None:
    source, check = case.held
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "art.pdf"
        path.write_bytes(source)
        return worst(path, check, "sticker-square-50mm")
