"""Places of a sheet painted finely, where its own view is too coarse to tell what shows."""

from __future__ import annotations

from prepcheck.geometry import Box
from prepcheck.press.separate.printed import printed_view
from prepcheck.press.view import View
from prepcheck.sheets.exam import Sheet
from prepcheck.units import MM_PER_INCH

FINE_MM = 0.0425
"""Pixels this fine show the stems of small type: 600 ppi."""
ROUND_MM, AREA_MM = 0.5, 6.0
"""How far round a glyph is needed, and is painted at once for its neighbours."""
MOST_CLOSER = 40
"""Places along a rim that are painted finely."""


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
        plates = sheet.closer(sheet.placement.to_piece, area, MM_PER_INCH / FINE_MM)
        self._views.append((area, printed_view(plates)))
        return self._views[-1][1]
