"""The second thread of a part."""

from __future__ import annotations

import threading

import pytest

from prepcheck.run.part import _pool


def test_what_still_waits_when_a_part_fails_is_not_begun() -> None:
    begun, leave, more = threading.Event(), threading.Event(), threading.Event()

    def first() -> None:
        begun.set()
        leave.wait(20)

    def fail() -> None:
        with _pool() as pool:
            pool.submit(first)
            pool.submit(more.set)
            assert begun.wait(20)
            threading.Timer(0.3, leave.set).start()
            raise MemoryError

    with pytest.raises(MemoryError):
        fail()
    assert not more.is_set()
