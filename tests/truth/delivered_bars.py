"""Barcodes, however the same bars are delivered: turned, in another space, in other units, in a
form, or as a picture in any format.

Truth by construction: that of the class whose cases are drawn here. Pictures are of 600 samples an
inch, and of bars that these show.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from prepcheck.findings import Severity
from tests.checks.barcodes import examined, sleeve_pdf, spec_with_barcode
from tests.truth import barcodes
from tests.truth._delivered import PICTURES, SPACES, SPOTS, TURNED, delivered
from tests.truth.case import Case

CLASS = "barcodes, delivered otherwise"
WAYS = (*TURNED, *SPACES, *SPOTS, *PICTURES)
SEEDS = 3 * len(WAYS)
FAST = 1
LEAST_MM = 0.2


def cases(seed: int) -> Iterator[Case]:
    way = WAYS[seed % len(WAYS)]
    pair = (seed + seed // len(WAYS)) % 3
    for case in list(barcodes.cases(seed))[pair::3]:
        symbols, checks = case.held
        if way in PICTURES and any(bars.modules and bars.x < LEAST_MM for bars in symbols):
            continue
        yield replace(case, name=f"{case.name}, {way}", held=(symbols, checks, way, seed))


def judge(case: Case) -> Severity | None:
    symbols, checks, way, seed = case.held
    spec = spec_with_barcode()
    with tempfile.TemporaryDirectory() as folder:
        file = delivered(sleeve_pdf(symbols, spec), way, seed, ppi=600)
        path = file.as_file(Path(folder))
        return barcodes.said_of(case.faulty, checks, examined(path, spec, None, 155))
