"""The command line: the only place that prints and that turns errors into exit codes.

What is imported here is there before any command; all else comes in after a worker was started.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from prepcheck.cli.interrupts import end_if_asked, heed_signals, heeded
from prepcheck.errors import ExitCode, itself_failed, short_of

if TYPE_CHECKING:
    from prepcheck.cli.commands import cli as cli
    from prepcheck.cli.terminal import EXIT_CODES as EXIT_CODES

_RUBBISH = 50_000
"""Things that are made between two looks for rubbish."""


def __getattr__(name: str) -> Any:
    """Import the commands only when they are asked for."""
    if name == "cli":
        from prepcheck.cli.commands import cli

        return cli
    if name == "EXIT_CODES":
        from prepcheck.cli.terminal import EXIT_CODES

        return EXIT_CODES
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def main() -> None:
    """Run the command."""
    _hold_standard_streams()
    # One thread of arithmetic is enough, and workers are forked only where no other runs.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # What is imported is no rubbish: to look through it over and over takes a tenth of the start.
    gc.set_threshold(_RUBBISH, 20, 20)
    heed_signals()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        try:
            from prepcheck.cli.first_worker import worker_ahead

            with worker_ahead(sys.argv[1:]) as ahead:
                from prepcheck.cli.commands import cli

                cli(prog_name="prepcheck", obj=ahead)
        except Exception:
            end_if_asked()
            raise
    except KeyboardInterrupt:
        from prepcheck.cli.terminal import interrupted

        sys.exit(interrupted())
    except Exception as error:  # a defect of ours; one line is more use to people than a trace
        from prepcheck.cli.terminal import tell

        tell(f"prepcheck: {short_of(error) or f'{itself_failed(error)}; please report this'}")
        sys.exit(ExitCode.CRASHED)
    finally:
        heeded()


def program() -> None:
    """Run the command as all that this process does, and end it.

    To take Python apart again, module by module, would take a tenth of the time of a label.
    """
    codes: list[int] = []

    def leave() -> None:
        if not codes:
            return
        with suppress(OSError, ValueError, AttributeError):  # else Python says what is wrong
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(codes[0])

    atexit.register(leave)  # before all others, so that it is called after them
    try:
        main()
    except SystemExit as end:
        if isinstance(end.code, int):
            codes.append(end.code)
        raise


def _hold_standard_streams() -> None:
    """Open what was closed of stdin, stdout and stderr, so that no file takes its place."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
