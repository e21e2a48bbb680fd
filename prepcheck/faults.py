"""Faults in TOML files as single lines: where, what is wrong, what is allowed, what is nearest."""

from __future__ import annotations

import difflib
import errno
import stat
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

MOST_TOML_BYTES = 4_000_000


class TomlError(Exception):
    """A file cannot be read as TOML; the message is one finished line."""


NO_SUCH_FILE = "there is no such file"
A_PIPE = "this is a pipe, a socket or a device, and no file"
A_FOLDER = "this is a folder; name one file in it"


def no_plain_file(path: Path) -> str | None:
    """Say in a few words why a path names no plain file that could be read; None when it does.

    Nothing is opened: a pipe would wait and a device might never end.
    """
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return NO_SUCH_FILE
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            return "the name is longer than the system allows; give the file a shorter one"
        return f"it cannot be opened ({error.strerror or error})"
    except ValueError:
        return "the name holds a character that no file name can hold"
    if stat.S_ISDIR(mode):
        return A_FOLDER
    return None if stat.S_ISREG(mode) else A_PIPE


def short_name(path: Path) -> str:
    """Return a path for a message, its middle left out where it is very long."""
    text = str(path).encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= 400 else f"{text[:200]} … {text[-60:]}"


def read_toml(path: Path) -> dict[str, Any]:
    """Return the tables of a TOML file; raises TomlError with one line that names the file."""
    why = no_plain_file(path)
    if why is not None:
        raise TomlError(f"{short_name(path)}: {why}")
    try:
        if path.stat().st_size > MOST_TOML_BYTES:
            raise TomlError(
                f"{path}: larger than {MOST_TOML_BYTES // 1_000_000} MB, which no order or spec is"
            )
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except RecursionError:
        raise TomlError(
            f"{path}: not valid here: its tables or lists are nested too deep"
        ) from None
    except UnicodeDecodeError as error:
        raise TomlError(
            f"{path}: not UTF-8 text (byte {error.start}); save it as plain text in UTF-8"
        ) from None
    except OSError as error:
        raise TomlError(f"{path}: cannot be read ({error.strerror or error})") from None
    except tomllib.TOMLDecodeError as error:
        raise TomlError(f"{path}: not valid TOML: {str(error)[:200]}") from None
    except ValueError:  # Python converts no number of more than 4,300 digits
        raise TomlError(f"{path}: holds a number with thousands of digits") from None


def nearest(name: str, known: Iterable[str], count: int = 1) -> tuple[str, ...]:
    """Return the known names most like `name`, best first; empty when none is like it."""
    return tuple(difflib.get_close_matches(name, sorted(known), n=count, cutoff=0.55))


def hint(name: str, known: Iterable[str]) -> str:
    """Return what to say after an unknown name: the nearest known one, else all of them."""
    names = sorted(known)
    close = nearest(name, names)
    if close:
        return f"did you mean {close[0]!r}?"
    return f"allowed: {', '.join(names)}" if names else "nothing is allowed here"


def key_path(location: Sequence[str | int]) -> str:
    """Return a location as it would be written, list entries counted from 1."""
    path = ""
    for step in location:
        path += f"[{step + 1}]" if isinstance(step, int) else f"{'.' if path else ''}{step}"
    return path
