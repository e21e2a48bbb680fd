"""Makes a page's plates over trim and bleed and writes nothing: `ART SPEC PPI`."""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path


def main(art: str, name: str, ppi: str) -> None:
    gc.disable()  # as a worker does, which lives for one part, before it imports anything
    from prepcheck.art.open import open_art
    from prepcheck.measure.trim import locate_trim
    from prepcheck.press.separate.plates import make_plates
    from prepcheck.spec.load import load_spec

    spec, artwork = load_spec(name), open_art(Path(art))
    page, outline = artwork.pages[0], spec.outline_of()
    placement = locate_trim(
        page, outline, spec.bleed.wanted_mm, spec.outline.trim_tolerance_mm, True,
        artwork.document.layers,
    )  # fmt: skip
    box = outline.bounds.grown(spec.bleed.wanted_mm)
    make_plates(page, placement.to_piece, box, float(ppi))


if __name__ == "__main__":
    main(*sys.argv[1:])
    os._exit(0)  # as workers end, and the program itself: nothing is taken apart again
