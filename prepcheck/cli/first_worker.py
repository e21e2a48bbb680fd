"""Starts a worker before the command line itself is imported and read.

That takes a command as long as a third of what its worker imports, which goes on beside it.
"""

from __future__ import annotations

import importlib
import os
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from prepcheck.run.worker import EarlyWorker

_COMMAND = "check"
_ELSEWHERE = ("--cluster", "--help", "-h")
_IN_BOTH = "prepcheck.run.answer"
"""What takes long to import here as well as in workers, so it is there before one is forked."""


def worker_ahead(words: Sequence[str]) -> AbstractContextManager[EarlyWorker | None]:
    """Start a worker where a command's words ask for one; none where another machine does it.

    The worker is stopped at the end, whatever it was started for.
    """
    if list(words[:1]) != [_COMMAND] or "PREPCHECK_CLUSTER" in os.environ:
        return nullcontext()
    if any(word.startswith(_ELSEWHERE) for word in words):
        return nullcontext()
    importlib.import_module(_IN_BOTH)
    from prepcheck.run.worker import started_ahead

    return started_ahead("prepcheck.run.part")
