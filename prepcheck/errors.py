"""The exception tree and the exit-code table.

    PrepcheckError
    ├── UsageError          a command was called with arguments that cannot be used
    ├── SpecError           a spec is missing or wrong (one line per fault)
    ├── OrderError          an order file is wrong (one line per fault)
    ├── ArtworkError        one artwork file cannot be examined; becomes a finding, not an exit
    │   ├── UnreadableError     damaged, empty, of the wrong kind, or too large
    │   │   ├── BudgetError         asks for more than a part may take
    │   │   └── ObjectError         one object or operation of it cannot be followed
    │   └── PasswordError       opens only with a password
    ├── StoppedError        art that must be corrected was to be put on a press sheet
    ├── BookError           the book cannot do what was asked, or cannot be opened
    ├── OutputError         a proof, report or plate could not be written
    ├── ClusterError        other machines that were to examine parts cannot do so
    └── CrashError          prepcheck itself failed on a file

Only `cli/` turns these into exit codes.
"""

import errno
import re
from enum import IntEnum
from pathlib import Path
from typing import ClassVar

_ROOT = Path(__file__).parent
_ADDRESS = re.compile(r"(?: at)? \b0x[0-9A-Fa-f]{6,16}\b")


class ExitCode(IntEnum):
    """Exit codes of the command; a stable interface."""

    CLEAR = 0
    STOP = 1
    USAGE = 2
    QUERY = 3
    OUTPUT = 4
    CRASHED = 5
    INTERRUPTED = 130


def short_of(error: BaseException) -> str | None:
    """Say what the system is short of, where that is what an error comes of; else None."""
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, OSError) and seen.errno in _SHORT_OF:
            return _SHORT_OF[seen.errno]
        seen = seen.__cause__ or seen.__context__
    return None


_SHORT_OF = {
    errno.EMFILE: "too few files may be open at a time; allow 64 or more (ulimit -n)",
    errno.ENFILE: "the system has too many files open; close other programs and try again",
    errno.EAGAIN: "the system allows no more processes; close some, or allow more (ulimit -u)",
    errno.ENOMEM: "the system has no memory left; close other programs, or use fewer --jobs",
}


class PrepcheckError(Exception):
    """Base of every error prepcheck raises on purpose.

    `lines` holds one sentence a fault; each names the file, what is wrong and what to do.
    """

    exit_code: ClassVar[ExitCode] = ExitCode.USAGE

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines


class UsageError(PrepcheckError):
    """A command or function was called with arguments that cannot be used."""


class SpecError(PrepcheckError):
    """A spec is missing or wrong."""


class OrderError(PrepcheckError):
    """An order file is wrong."""


class ArtworkError(PrepcheckError):
    """One artwork file cannot be examined. The run turns it into `file.unreadable`."""

    exit_code = ExitCode.STOP


class UnreadableError(ArtworkError):
    """Damaged, empty, of a kind that is not read, or beyond a safety limit."""


class BudgetError(UnreadableError):
    """Reading the file met one of the limits of a part; names the limit and the number met.

    Whoever goes on after a fault of one object lets this pass: the part ends here.
    """


class ObjectError(UnreadableError):
    """One object of the file, or one operation of its content, cannot be followed.

    Whoever follows the rest notes it and steps over it.
    """


class PasswordError(ArtworkError):
    """The file opens only with a password."""


class StoppedError(PrepcheckError):
    """Art that must be corrected was to be put on a press sheet."""

    exit_code = ExitCode.STOP


class BookError(PrepcheckError):
    """The book cannot be opened, or cannot do what was asked of it."""


class OutputError(PrepcheckError):
    """An output could not be written."""

    exit_code = ExitCode.OUTPUT


class ClusterError(PrepcheckError):
    """The machines that were to examine parts cannot be reached, or do not do as this one would."""

    exit_code = ExitCode.CRASHED


class CrashError(PrepcheckError):
    """Prepcheck itself failed on a file, through no fault of the art."""

    exit_code = ExitCode.CRASHED


def said_by(error: BaseException, most: int = 120) -> str:
    """Return in one line what an error of another library says, or its name where it says nothing.

    Addresses of objects in memory are cut: they are other ones every time, and the same file is
    to give the same report.
    """
    return in_one_line(str(error))[:most] or type(error).__name__


def in_one_line(said: str) -> str:
    """Return what another library says in one line, without addresses of objects in memory."""
    return _ADDRESS.sub("", " ".join(said.split()))


def itself_failed(error: BaseException) -> str:
    """Return that prepcheck failed, with the error and the file and line where our code met it.

    'prepcheck itself failed (KeyError: 'Tint', art/pdf/content/stream.py:120)'.
    """
    place, trace = "", error.__traceback__
    while trace is not None:
        code = trace.tb_frame.f_code
        file = Path(code.co_filename)
        if _ROOT in file.parents:
            place = f", {file.relative_to(_ROOT).as_posix()}:{trace.tb_lineno}"
        trace = trace.tb_next
    said = said_by(error, 200)
    return f"prepcheck itself failed ({type(error).__name__}: {said}{place})"
