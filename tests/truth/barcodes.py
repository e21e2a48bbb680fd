"""Barcodes drawn small, cut low or not to be read, and ornaments of stripes beside sound ones.

Truth by construction: python-barcode (MIT licence) works numbers out to modules, which are drawn
here at a known width and height; ornaments are stripes of widths that are no module's multiples.
"""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from pathlib import Path

from prepcheck.findings import Finding, Severity
from prepcheck.geometry import Point
from prepcheck.sheets.exam import Exam
from tests.checks.barcodes import EAN, Bars, ean13, modules_of, sleeve
from tests.checks.exams import examine
from tests.truth.case import Case

CLASS = "barcodes, small and beside ornaments"
SEEDS = 32
FAST = 2
LOWER, UPPER = Point(-41.5, -22.0), Point(-41.5, 20.0)
SMALL, LOW = "barcode.size", "barcode.truncated"
UNREAD, MISSING = "barcode.unreadable", "barcode.missing"


def ornament(rng: random.Random, height: float = 14.0) -> Bars:
    """Return stripes of no symbology: of any width, growing, or in an even rhythm."""
    kind = rng.choice(("any", "growing", "rhythm"))
    count = rng.randint(18, 34)
    lines, at = ["0 0 0 1 k"], 0.0
    for n in range(count):
        if kind == "any":
            bar, space = rng.uniform(0.3, 1.4), rng.uniform(0.3, 1.4)
        elif kind == "growing":
            bar, space = 0.25 + 1.2 * n / count, 0.5
        else:
            bar, space = (1.0, 0.4) if n % 2 else (0.4, 0.4)
        lines.append(f"{at - count * 0.5:.4f} {-height / 2} {bar:.4f} {height} re f")
        at += bar + space
    return Bars(at=UPPER, height=0.0, turn=rng.choice((0, 90, 20)), extra="\n".join(lines))


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(seed)
    turn = rng.choice((0, 90, 180, rng.uniform(0, 360)))
    ink = rng.choice(("0 0 0 1 k", "1 0.6 0 0.2 k", "1 0 0.2 0 k"))
    kind, number = rng.choice((("ean13", EAN), ("ean8", "95200002"), ("upca", "95234567891")))
    modules = modules_of(kind, number)
    high = 55.2 if kind == "ean8" else 69.2

    def bars(x: float, share: float = 1.0, **more: object) -> Bars:
        return Bars(modules, x=x, height=high * x * share, turn=turn, paint=ink, **more)  # type: ignore[arg-type]

    x = rng.uniform(0.13, 0.25)
    yield Case(f"{kind}, module {x:.3f}, {turn:.0f}", True, ([bars(x)], (SMALL,)))
    x, share = rng.uniform(0.28, 0.36), rng.uniform(0.4, 0.93)
    yield Case(f"{kind} cut to {share:.2f}", True, ([bars(x, share)], (SMALL, LOW)))
    code = modules_of("code128", f"LFR {rng.randint(100, 999)}")
    yield Case("Code 128 alone", True, ([Bars(code, turn=turn)], (UNREAD,)))
    share = rng.uniform(0.955, 1.2)
    all_ = (SMALL, LOW, UNREAD, MISSING)
    yield Case(f"{kind}, {share:.2f} high", False, ([bars(x, share)], all_))
    sound = Bars(ean13(EAN), x=x, height=high * x * 1.3, at=LOWER)
    yield Case("an ornament beside", False, ([sound, ornament(rng)], all_))
    yield Case("an ornament alone", False, ([ornament(rng)], (UNREAD,)))


def judge(case: Case) -> Severity | None:
    """Return the worst that the checks meant say; a barcode that is there is never missing."""
    symbols, checks = case.held
    with tempfile.TemporaryDirectory() as folder:
        return said_of(case.faulty, checks, sleeve(Path(folder), *symbols, number=None, ppi=155))


def said_of(faulty: bool, checks: tuple[str, ...], exam: Exam) -> Severity | None:
    """Return the worst that some checks say of a sleeve; None of a fault told as missing bars."""
    said = [one for check in checks for one in examine(check, exam) if isinstance(one, Finding)]
    if faulty and any(isinstance(one, Finding) for one in examine(MISSING, exam)):
        return None
    own = {finding.severity for finding in said if finding.check in checks}
    return min(own, key=list(Severity).index, default=None)
