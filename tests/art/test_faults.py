"""What decoders warn of stays muted for as long as any thread decodes, and no longer."""

from __future__ import annotations

import threading
import warnings

import pytest

from prepcheck.art.faults import quietly


def test_a_thread_that_leaves_does_not_take_the_mute_from_another() -> None:
    inside, leave = threading.Event(), threading.Event()

    def decode() -> None:
        with quietly("JPEG"):
            inside.set()
            leave.wait(20)

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        thread = threading.Thread(target=decode)
        thread.start()
        assert inside.wait(20)
        with quietly("TIFF"):
            leave.set()
            thread.join(20)
            warnings.warn("a library's own affair", stacklevel=1)
        with pytest.raises(UserWarning):
            warnings.warn("a caller's affair", stacklevel=1)
