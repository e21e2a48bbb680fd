"""Places of a sheet painted finely, where its own view is too coarse to tell what shows."""

from __future__ import annotations

from collections.abc import Iterable

from prepcheck.geometry import Box
from prepcheck.press.view import View
from prepcheck.sheets.exam import Sheet
from prepcheck.units import MM_PER_INCH

FINE_MM = 0.0425
"""Pixels this fine show the stems of small type: 600 ppi."""
FINE_PPI = MM_PER_INCH / FINE_MM
ROUND_MM, AREA_MM = 0.5, 6.0
"""How far round a glyph is needed, and is painted at once for its neighbours."""
MOST_CLOSER = 40
"""Places along a rim that are painted finely."""
_MOST_FORESEEN = 8e6
"""Pixels of them that are held before they are asked for, which take 40 MB."""


class Closer:
    """Shows places of a sheet finely enough for small type; each place is painted once."""

    def __init__(self, sheet: Sheet, most: int = MOST_CLOSER) -> None:
        """No more than `most` places are painted; beyond these the page's own view has to do."""
        self.sheet, self._most = sheet, most
        self._views: list[tuple[Box, View]] = []

    def view(self, box: Box) -> View:
        """Return the page round a box in mm."""
        sheet = self.sheet
        if sheet.closer is None or sheet.view.grid.pitch <= FINE_MM:
            return sheet.view
        wanted = box.grown(ROUND_MM)
        for held, view in self._views:
            if held.holds(wanted):
                return view
        if len(self._views) >= self._most:
            return sheet.view
        area = box.grown(AREA_MM)
        self._views.append((area, sheet.close_look(area, FINE_PPI)))
        return self._views[-1][1]


def foresee_closer(sheet: Sheet, boxes: Iterable[Box], most: int = MOST_CLOSER) -> None:
    """Have places painted that a `Closer` will be asked for, in that order, as far as it pays."""
    if sheet.foreseen is None:
        return
    areas: list[Box] = []
    pixels = 0.0
    for box in boxes:
        wanted = box.grown(ROUND_MM)
        if any(area.holds(wanted) for area in areas):
            continue
        areas.append(box.grown(AREA_MM))
        pixels += areas[-1].area / FINE_MM**2
        if len(areas) >= most or pixels > _MOST_FORESEEN:
            break
    sheet.foreseen.foresee((sheet.placement.to_piece, area, FINE_PPI) for area in areas)
