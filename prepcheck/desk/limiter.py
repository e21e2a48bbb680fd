"""Counts what went wrong from one place, so that guessing takes for ever."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable


class Limiter:
    """Tells whether a key has failed too often of late. Safe to use from several threads."""

    def __init__(
        self,
        most: int,
        within: float,
        *,
        keys: int = 10_000,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._most, self._within, self._keys, self._clock = most, within, keys, clock
        self._failed: dict[str, deque[float]] = {}
        self._lock = threading.Lock()

    def closed(self, *keys: str) -> bool:
        """Say whether any of the keys has failed as often as is allowed."""
        now = self._clock()
        with self._lock:
            return any(len(self._recent(key, now)) >= self._most for key in keys)

    def failed(self, *keys: str) -> None:
        """Count a failure of each key."""
        now = self._clock()
        with self._lock:
            if len(self._failed) >= self._keys:
                self._forget(now)
            for key in keys:
                self._recent(key, now)
                self._failed.setdefault(key, deque()).append(now)

    def succeeded(self, *keys: str) -> None:
        """Forget the failures of each key."""
        with self._lock:
            for key in keys:
                self._failed.pop(key, None)

    def _recent(self, key: str, now: float) -> deque[float]:
        times = self._failed.get(key)
        if times is None:
            return deque()
        while times and times[0] <= now - self._within:
            times.popleft()
        return times

    def _forget(self, now: float) -> None:
        """Let go of keys that have not failed of late; of the rest the oldest where too many."""
        for key in [key for key in self._failed if not self._recent(key, now)]:
            del self._failed[key]
        while len(self._failed) >= self._keys:
            del self._failed[next(iter(self._failed))]
