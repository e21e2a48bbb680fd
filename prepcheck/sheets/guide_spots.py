"""Spots that are lines of a template: by their names, or by how what they paint is laid out."""

from __future__ import annotations

import numpy as np

from prepcheck.geometry import Box
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.guide_names import is_library_ink, named_as_guide
from prepcheck.sheets.near import printing
from prepcheck.sheets.uses import colorants, uses_of

THIN_MM = 0.5
"""Lines of a template are drawn thinner than this."""
SPANS = (0.6, 1.4)
"""How wide and high, against the piece, lines lie that are laid out like a template's."""


def is_guide_spot(exam: Exam, name: str) -> bool:
    """Say whether a spot is asked about as lines of a template: then nothing else is asked of it,
    such as to use another ink for it."""
    return named_as_guide(name) or (not is_library_ink(name) and laid_out_as_guide(exam, name))


def laid_out_as_guide(exam: Exam, name: str) -> bool:
    """Say whether a spot paints nothing but thin lines that span about the whole of a piece."""
    boxes = []
    for sheet in exam.sheets:
        content = printing(exam, sheet)
        for use in uses_of(content, lambda colour: name in colorants(colour.space)):
            if use.kind != "paths":
                return False
            boxes.append((sheet, use.box))
        traits = content.path_traits
        # A path without a fill or a stroke has the number -1 there, which is the last.
        own = np.array([*(name in colorants(paint.space) for paint in traits.paints), False])
        lines = own[traits.fill] | own[traits.stroke]
        if (lines & ((traits.fill >= 0) | (traits.stroke_mm > THIN_MM))).any():
            return False
    if not boxes:
        return False
    bounds = boxes[0][0].outline.bounds
    whole = Box.around(corner for _, box in boxes for corner in (box.corners[0], box.corners[2]))
    spans = whole.width / bounds.width, whole.height / bounds.height
    return all(SPANS[0] <= span <= SPANS[1] for span in spans)
