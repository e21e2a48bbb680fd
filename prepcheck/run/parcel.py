"""A part on its way to another machine: a typed message, and the file's bytes beside it.

What arrives is read by its type, as a worker's answer is (`message`): figures and text, no code.
"""

from __future__ import annotations

import os
import tempfile
from dataclasses import replace
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import msgspec

from prepcheck import __version__
from prepcheck.errors import UsageError
from prepcheck.faults import no_plain_file
from prepcheck.press.show.condition import ConditionAlong, condition_along
from prepcheck.run.answer import Task
from prepcheck.run.message import Failed

_LIBRARIES = (
    "fonttools", "numpy", "onnxruntime", "pillow", "pypdf", "pypdfium2", "rapidocr", "reportlab",
    "uharfbuzz", "zxing-cpp",
)  # fmt: skip
"""Libraries that what is found depends on."""
BESIDE = "beside"
"""Name of the file that came beside a parcel, until that is opened."""


class ParcelError(Exception):
    """What came is no parcel, or none that can be examined here; says why."""


class Parcel(msgspec.Struct, frozen=True):
    """A part to examine on a machine that has the same `versions`.

    `name` is the file's, in the bytes of the file system, and `size` its length. It comes beside
    the parcel, or lies at `place` on storage that both machines share.
    """

    versions: tuple[tuple[str, str], ...]
    task: Task
    name: bytes
    size: int
    place: bytes | None = None
    conditions: tuple[ConditionAlong, ...] = ()


class Refused(msgspec.Struct, frozen=True):
    """Why a machine examines nothing of what it was sent."""

    why: str


class Reply(msgspec.Struct, frozen=True):
    """What a machine sends back: a worker's message as it is, or why there is none."""

    answer: bytes = b""
    refused: Refused | None = None


def parcel_of(task: Task, *, shared: bool) -> tuple[bytes, bytes | None] | None:
    """Return a task packed up, and its file's bytes where they are not `shared`; None for one that
    can only be told of here.

    That is a file that cannot be read, or is larger than may be, and what a message cannot hold.
    """
    if no_plain_file(task.path) is not None:
        return None
    try:
        size = task.path.stat().st_size
        if size > task.settings.art.file_bytes:
            return None
        real = task.path.resolve()
        # What was unpacked on this machine lies on no storage that others have.
        shared = shared and not real.is_relative_to(Path(tempfile.gettempdir()).resolve())
        content = None if shared else real.read_bytes()
        names = dict.fromkeys(spec.print_condition for spec in task.specs)
        along = [one for name in names if (one := condition_along(name)) is not None]
        parcel = Parcel(
            versions(),
            replace(task, path=Path(BESIDE)),
            os.fsencode(task.path.name),
            size if content is None else len(content),
            os.fsencode(real) if shared else None,
            tuple(along),
        )
        return _ENCODER.encode(parcel), content
    except (OSError, UsageError, UnicodeEncodeError, OverflowError):
        return None


def opened(data: bytes, folder: Path) -> tuple[Task, tuple[ConditionAlong, ...]]:
    """Return the task of a parcel and the print conditions with it.

    A file that came beside it lies in `folder` as `BESIDE`, and is named as it was there. Raises
    ParcelError, and OSError where the folder cannot be used.
    """
    try:
        parcel = _decoder().decode(data)
    except (msgspec.MsgspecError, TypeError, ValueError) as error:
        first = str(error).partition("\n")[0]
        raise ParcelError(f"what came cannot be read here: {first}; {_SAME}") from None
    here = versions()
    if parcel.versions != here:
        raise ParcelError(f"{_differing(dict(parcel.versions), dict(here))}; {_SAME}")
    name = os.fsdecode(parcel.name)
    if name in ("", ".", "..") or name != Path(name).name:
        raise ParcelError("what came names no file")
    path = folder / name
    if parcel.place is None:
        (folder / BESIDE).rename(path)
    else:
        place = Path(os.fsdecode(parcel.place))
        why = no_plain_file(place)
        if why is not None:
            raise ParcelError(f"{place}: {why} here; {_SHARED}")
        path.symlink_to(place)
    found = path.stat().st_size
    if found != parcel.size:
        raise ParcelError(f"{parcel.task.file}: {found} bytes here, not {parcel.size}; {_SHARED}")
    return replace(parcel.task, path=path), parcel.conditions


@cache
def versions() -> tuple[tuple[str, str], ...]:
    """Return what decides what is found here: our version and those of libraries, '' for none."""
    return (("prepcheck", __version__), *((name, _version(name)) for name in _LIBRARIES))


def _version(name: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return ""


def _differing(there: dict[str, str], here: dict[str, str]) -> str:
    name = next(name for name in {**here, **there} if there.get(name) != here.get(name))
    one, other = (found.get(name) or "none" for found in (here, there))
    return f"it has {name} {one}, and who sent the part has {other}"


_SAME = "install the same prepcheck with the same libraries on every machine"
_SHARED = "--shared is for files that every machine has at the same path, or leave it out"


def _simpler(value: object) -> object:
    if isinstance(value, Path):
        return str(value)
    raise TypeError(f"{type(value).__name__} is not sent to other machines")


def _built(kind: type[Any], value: Any) -> object:
    """Return what is no type of messages; raises TypeError or ValueError."""
    if kind is Path:
        return Path(msgspec.convert(value, str))
    raise TypeError(f"{kind.__name__} is not taken from other machines")


_ENCODER = msgspec.msgpack.Encoder(enc_hook=_simpler)


@cache
def _decoder() -> msgspec.msgpack.Decoder[Parcel]:
    return msgspec.msgpack.Decoder(Parcel, dec_hook=_built)


def replied(reply: Reply) -> bytes:
    """Return a reply as a message."""
    return msgspec.msgpack.encode(reply)


def reply_of(data: bytes) -> Reply:
    """Return the reply in a message; one that is none becomes a failure of ours."""
    try:
        return msgspec.msgpack.decode(data, type=Reply)
    except (msgspec.MsgspecError, TypeError, ValueError) as error:
        return Reply(refused=Refused(f"its reply cannot be read: {error}"))


def failed(why: str) -> Failed:
    """Return a part whose check failed through no fault of its own."""
    return Failed(why, ours=True)
