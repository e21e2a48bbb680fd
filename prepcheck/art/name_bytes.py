"""What a name's bytes say: UTF-8 (ISO 32000-2, 7.3.5), or the character set of an older program.

Names from before UTF-8 was asked for say nothing of their character set. Whichever reads plainly
is taken: Chinese and Japanese where all bytes make common characters, the Macintosh's set where
accents can only be its, else Windows-1252, which holds Latin-1.
"""

from __future__ import annotations

import codecs
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

CODEC = "prepcheck-pdf-name"
_HIGH = re.compile(rb"[\x80-\xff]+")
_GB_COMMON = re.compile(rb"(?:[\xb0-\xd7][\xa1-\xfe]|[\xa1\xa3][\xa1-\xfe])+")
"""Pairs of GB 2312: hanzi of level 1 (rows 16 to 55), punctuation and full-width letters."""
_JAPANESE = re.compile("[\u3040-\u30ff\u4e00-\u9fff\uff10-\uff5a\u3001-\u301c]+")
_MAC_ONLY = re.compile(rb"[A-Za-z][\x81-\x98\x9a-\x9f]|^[\x81-\x98\x9a-\x9f][A-Za-z]")
"""In Windows-1252 these bytes are mostly quotes, dashes and signs; on the Macintosh, letters."""
_LEAST_CHARACTERS = 2


def decoded(raw: bytes) -> str:
    """Return a name's bytes, escapes resolved, as text."""
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        pass
    if _is_chinese(raw):
        return raw.decode("gbk")
    japanese = _japanese(raw)
    if japanese is not None:
        return japanese
    if _MAC_ONLY.search(raw):
        return raw.decode("mac-roman")
    try:
        return raw.decode("cp1252")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def _is_chinese(raw: bytes) -> bool:
    """Say whether all that is not ASCII is common Chinese, and more of it than chance makes."""
    runs = _HIGH.findall(raw)
    if not all(_GB_COMMON.fullmatch(run) for run in runs):
        return False
    beside_letters = re.search(rb"[A-Za-z][\x80-\xff]|[\x80-\xff][A-Za-z]", raw) is not None
    longest = max(map(len, runs)) // 2
    return longest >= _LEAST_CHARACTERS + beside_letters


def _japanese(raw: bytes) -> str | None:
    """Return what is all common Japanese in Shift-JIS, or None."""
    try:
        text = raw.decode("shift-jis")
    except UnicodeDecodeError:
        return None
    beyond = [c for c in text if c > "\x7f"]
    if len(beyond) < _LEAST_CHARACTERS or not _JAPANESE.fullmatch("".join(beyond)):
        return None
    # Accents of Latin words pair up with the letter behind them, each with ASCII before it.
    runs = _JAPANESE.findall(text)
    return text if max(map(len, runs)) >= _LEAST_CHARACTERS else None


def _decode(raw: ReadableBuffer, errors: str = "strict", /) -> tuple[str, int]:
    held = bytes(raw)
    return decoded(held), len(held)


def _encode(text: str, errors: str = "strict", /) -> tuple[bytes, int]:
    return text.encode("utf-8", errors), len(text)


def _found(name: str) -> codecs.CodecInfo | None:
    if name.replace("_", "-") != CODEC:
        return None
    return codecs.CodecInfo(_encode, _decode, name=CODEC)


codecs.register(_found)
