"""What the desk and its own processes say to each other: typed messages, and no code.

They are read by the type that is expected, as a worker's answer is (`run.message`): archives that
strangers sent are unpacked at the other end.
"""

from __future__ import annotations

import os
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TypeVar

import msgspec

from prepcheck.run.message import encoded

M = TypeVar("M")


def send(pipe: Connection, value: object) -> None:
    """Say something; raises OSError where the other end is gone."""
    pipe.send_bytes(encoded(value, _simpler))


def received(pipe: Connection, kind: type[M]) -> M:
    """Wait for something of this kind; raises EOFError or OSError where the other end is gone, or
    says anything else."""
    try:
        return msgspec.msgpack.decode(pipe.recv_bytes(), type=kind, dec_hook=_built)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise EOFError(f"no message of the kind that was waited for: {error}") from error


def _simpler(value: object) -> object:
    if isinstance(value, Path):
        return os.fsencode(value)  # names of files may be no text
    raise TypeError(f"{type(value).__name__} is not carried by messages")


def _built(kind: type, value: object) -> object:
    if kind is Path and isinstance(value, bytes):
        return Path(os.fsdecode(value))
    raise TypeError(f"{kind.__name__} is not taken from another process")
