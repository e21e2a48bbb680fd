"""What a worker writes and its parent reads: typed data and nothing else.

A message is one byte that says what it is, then MessagePack. It is read by the type the parent
expects, so that a worker that read a hostile file can hand over wrong figures at most: no code,
and no type but those named in the answer's fields.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import msgspec

R = TypeVar("R")

_ANSWER, _FAILED = b"A", b"F"


class Failed(msgspec.Struct, frozen=True):
    """A worker that gave no result: why, and whether prepcheck itself is at fault.

    `asked` is what a client is to be asked for, where `why` advises who runs the check.
    """

    why: str
    ours: bool = False
    asked: str = ""


class MessageError(Exception):
    """What a worker wrote is no message of the kind that is wanted."""


def packed(answer: object) -> bytes:
    """Return an answer as a message; one that Failed has a kind of its own.

    Raises TypeError for what no message carries, such as a function or an open file.
    """
    return (_FAILED if isinstance(answer, Failed) else _ANSWER) + encoded(answer, _simpler)


def encoded(value: object, hook: Callable[[object], object]) -> bytes:
    """Return a value as MessagePack; `hook` makes plain what no message carries as it is."""
    try:
        return msgspec.msgpack.encode(value, enc_hook=hook)
    except (UnicodeEncodeError, OverflowError):
        # Text from files may hold halves of characters, and numbers more digits than 64 bits.
        plain = msgspec.to_builtins(value, builtin_types=(bytes,), enc_hook=hook)
        return msgspec.msgpack.encode(_writable(plain))


def unpacked(data: bytes | bytearray, kind: type[R]) -> R | Failed:
    """Return what a message holds, of this kind; raises MessageError."""
    head, rest = bytes(data[:1]), memoryview(data)[1:]
    try:
        if head == _FAILED:
            failed: Failed = _decoder(Failed).decode(rest)
            return failed
        if head == _ANSWER:
            found: R = _decoder(kind).decode(rest)
            return found
    except (msgspec.MsgspecError, UnicodeDecodeError, TypeError, ValueError, RecursionError) as bad:
        raise MessageError(str(bad) or type(bad).__name__) from None
    raise MessageError("it is cut off" if not data else "it does not begin as one")


def _decoder(kind: type[Any]) -> msgspec.msgpack.Decoder[Any]:
    return msgspec.msgpack.Decoder(kind, dec_hook=_never)


def _never(kind: type, value: object) -> object:
    """Refuse what has no type of a message, such as the spec, which the parent has itself."""
    raise TypeError(f"{kind.__name__} is not taken from a worker")


def _simpler(value: object) -> object:
    """Return a library's own number or text as a plain one; raises TypeError for all else."""
    if isinstance(value, str):
        return str.__str__(value)
    if isinstance(value, float):
        return float(value)
    if isinstance(value, int):
        return int(value)
    plain = getattr(value, "item", None)  # a number of numpy
    if plain is not None and getattr(value, "shape", None) == ():
        return plain()
    raise TypeError(f"{type(value).__name__} is not carried by messages")


def _writable(value: Any) -> Any:
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    if isinstance(value, list | tuple):
        return [_writable(item) for item in value]
    if isinstance(value, dict):
        return {_writable(key): _writable(item) for key, item in value.items()}
    if isinstance(value, int) and not isinstance(value, bool) and value.bit_length() > 63:
        return float(value) if value.bit_length() < 1000 else None
    return value
