"""A content stream while it is cut into what stands as it is and what copies change."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.art.pdf.content.record import Event
from prepcheck.art.pdf.content.rectangles import edged

MOST_BARE = 1_000_000
"""Bytes from which what stands in every copy is put away as a piece."""


class Cuttings:
    """The pieces of one stream, taken from its beginning to its end."""

    def __init__(self, data: bytes, pieces: list[bytes | Event]) -> None:
        self.data, self.pieces = data, pieces
        self._bare = bytearray()
        """What stands in every copy alike, up to `_kept` in the stream: a million rectangles are no
        million pieces."""
        self._kept = 0

    def put(self, start: int, *events: Event | bytes) -> None:
        """Put events in front of what begins at a place."""
        self.take(start)
        self.pieces += events

    def replace(self, start: int, end: int, *events: Event | bytes) -> None:
        """Put events in the place of what stands there."""
        self.take(start)
        self.pieces += events
        self._kept = end

    def replace_all(
        self, starts: Sequence[int], ends: Sequence[int], events: Sequence[Event]
    ) -> None:
        """Put an event in the place of each of many things, in their order."""
        if not events:
            return
        self.take(starts[0])
        data = self.data
        between = [data[i:j] for i, j in zip(ends[:-1], starts[1:], strict=True)]
        made: list[bytes | Event] = [b""] * (2 * len(events) - 1)
        made[::2], made[1::2] = events, between
        self.pieces += made
        self._kept = ends[-1]

    def take(self, end: int) -> None:
        """Take the stream as it stands up to a place in it."""
        piece = self.data[self._kept : end]
        if self._bare:
            self._bare += piece
            piece = bytes(self._bare)
            self._bare.clear()
        self.pieces.append(piece)
        self._kept = end

    def edge(self, start: int, corner: bytes) -> None:
        """Keep the edges of a rectangle from whole pixels, which the operator at a place paints."""
        if len(self._bare) > MOST_BARE:
            self.take(start)
        self._bare += self.data[self._kept : start]
        self._bare += edged(corner)
        self._kept = start
