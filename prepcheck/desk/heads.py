"""Reads requests off a connection, and lets go of whoever does not come out with one.

The application only sees whole heads: what dribbles in before there is one must be kept off here.
"""

from __future__ import annotations

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

_TOO_SLOW = b"HTTP/1.1 408 Request Timeout\r\nconnection: close\r\ncontent-length: 0\r\n\r\n"
"""RFC 9110, 15.5.9."""


def heads_within(seconds: float) -> type[H11Protocol]:
    """Return uvicorn's way to read requests, with a limit for the head of each.

    It counts from the connection for the first request, and from its first byte for each after it;
    the time between two is uvicorn's own `timeout_keep_alive`.
    """

    class Prompt(H11Protocol):
        """One connection."""

        _timer: asyncio.TimerHandle | None = None

        def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
            super().connection_made(transport)
            self._timer = self.loop.call_later(seconds, self._too_slow)

        def data_received(self, data: bytes) -> None:
            super().data_received(data)
            if not self._in_a_head():
                self._whole()
            elif self._timer is None:
                self._timer = self.loop.call_later(seconds, self._too_slow)

        def connection_lost(self, exc: Exception | None) -> None:
            self._whole()
            super().connection_lost(exc)

        def _in_a_head(self) -> bool:
            """Say whether part of a request's head has come, and the rest has not."""
            return self.conn.their_state is h11.IDLE and bool(self.conn.trailing_data[0])

        def _whole(self) -> None:
            if self._timer is not None:
                self._timer.cancel()
                self._timer = None

        def _too_slow(self) -> None:
            self._timer = None
            if self.transport.is_closing():
                return
            if self._in_a_head():  # whoever has said nothing asks for no answer
                self.transport.write(_TOO_SLOW)
            self.transport.close()

    return Prompt
