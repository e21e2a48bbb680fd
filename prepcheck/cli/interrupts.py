"""Ctrl-C, SIGTERM and SIGHUP that nothing passes over.

Python raises what a signal asks for wherever the main thread is, and much of what runs there lets
it drop: a bare `except`, `hasattr`, hooks that run while Python forks, the clean-up of a weak
reference. So it is raised again and again until it is `heeded`; but never while things are tidied
up because of it, nor while a module is imported, which native code in it may not survive.
"""

from __future__ import annotations

import functools
import signal
import sys
from collections.abc import Callable
from types import FrameType

_SOON = 0.05
"""Seconds between two looks for whether an end is still to come."""
_IMPORTS = "<frozen importlib._bootstrap>"


def heed_signals() -> None:
    """Have signals that ask for an end raise KeyboardInterrupt (Ctrl-C) or SystemExit."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)  # no hang-up on Windows
        if number is None or signal.getsignal(number) is signal.SIG_IGN:
            continue
        end = KeyboardInterrupt if name == "SIGINT" else functools.partial(SystemExit, 128 + number)
        signal.signal(number, _End(end).asked)
    if hasattr(signal, "setitimer"):  # not on Windows
        sys.unraisablehook = _comes_again


def heeded() -> None:
    """Say that what a signal raised has been dealt with."""
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, 0)


def end_if_asked() -> None:
    """Raise what a signal asked for, if that is still to come.

    What went wrong since may have done so because it was passed over.
    """
    if hasattr(signal, "getitimer") and any(signal.getitimer(signal.ITIMER_REAL)):
        again = signal.getsignal(signal.SIGALRM)
        if isinstance(again, _End):
            raise again.end()


class _End:
    """Raises an end, now or as soon as it may be."""

    def __init__(self, end: Callable[[], BaseException]) -> None:
        self.end = end

    def asked(self, number: int, frame: FrameType | None) -> None:
        if not hasattr(signal, "setitimer"):
            raise self.end()
        signal.signal(signal.SIGALRM, self)
        signal.setitimer(signal.ITIMER_REAL, _SOON, _SOON)
        self(number, frame)

    def __call__(self, number: int, frame: FrameType | None) -> None:
        if not _tidied_up() and not _imported(frame):
            raise self.end()


def _tidied_up() -> bool:
    """Say whether what runs now does so because of an end."""
    handled = sys.exc_info()[1]
    while handled is not None and not isinstance(handled, KeyboardInterrupt | SystemExit):
        handled = handled.__context__
    return handled is not None


def _imported(frame: FrameType | None) -> bool:
    """Say whether what runs now does so because a module is imported."""
    while frame is not None and frame.f_code.co_filename != _IMPORTS:
        frame = frame.f_back
    return frame is not None


def _comes_again(lost: sys.UnraisableHookArgs) -> None:
    """Say nothing of an end that was lost where nothing can be raised: it comes again."""
    if not isinstance(lost.exc_value, KeyboardInterrupt | SystemExit):
        sys.__unraisablehook__(lost)
