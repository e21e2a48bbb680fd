"""Ctrl-C, SIGTERM and SIGHUP that nothing passes over.

Python raises what a signal asks for wherever the main thread is, and much of what runs there lets
it drop: a bare `except` or `hasattr` while a library is imported, hooks that run while Python
forks, the clean-up of a weak reference. So it is raised again and again until it is `heeded`, but
never while things are tidied up because of it.
"""

from __future__ import annotations

import functools
import signal
import sys
from collections.abc import Callable
from typing import NoReturn

_SOON = 0.05
"""Seconds between two looks for whether what was raised was lost."""


def heed_signals() -> None:
    """Have signals that ask for an end raise KeyboardInterrupt (Ctrl-C) or SystemExit."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)  # no hang-up on Windows
        if number is None or signal.getsignal(number) is signal.SIG_IGN:
            continue
        end = KeyboardInterrupt if name == "SIGINT" else functools.partial(SystemExit, 128 + number)
        signal.signal(number, functools.partial(_asked, end))
    if hasattr(signal, "setitimer"):  # not on Windows
        sys.unraisablehook = _comes_again


def heeded() -> None:
    """Say that what a signal raised has been dealt with."""
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, 0)


def end_if_asked() -> None:
    """Raise what a signal asked for, if that was passed over.

    What went wrong since may have done so because of it: a library that was not imported whole is
    told to be missing.
    """
    if hasattr(signal, "getitimer") and any(signal.getitimer(signal.ITIMER_REAL)):
        again = signal.getsignal(signal.SIGALRM)
        if isinstance(again, _Again):
            raise again.end()


class _Again:
    """Raises an end once more, unless things are being tidied up because of it."""

    def __init__(self, end: Callable[[], BaseException]) -> None:
        self.end = end

    def __call__(self, number: int, frame: object) -> None:
        handled = sys.exc_info()[1]
        while handled is not None:
            if isinstance(handled, KeyboardInterrupt | SystemExit):
                return
            handled = handled.__context__
        raise self.end()


def _asked(end: Callable[[], BaseException], number: int, frame: object) -> NoReturn:
    if hasattr(signal, "setitimer"):
        signal.signal(signal.SIGALRM, _Again(end))
        signal.setitimer(signal.ITIMER_REAL, _SOON, _SOON)
    raise end()


def _comes_again(lost: sys.UnraisableHookArgs) -> None:
    """Say nothing of an end that was lost where nothing can be raised: it comes again."""
    if not isinstance(lost.exc_value, KeyboardInterrupt | SystemExit):
        sys.__unraisablehook__(lost)
