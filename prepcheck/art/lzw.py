"""LZW as TIFF 6.0 (section 13) and PDF (ISO 32000-2, 7.4.4) use it: codes of 9 to 12 bits."""

from __future__ import annotations

CLEAR, END = 256, 257
_ROOTS = [bytes((value,)) for value in range(256)] + [b"", b""]


def lzw_decoded(data: bytes, cap: int, early: int = 1) -> bytes:
    """Return the decoded bytes, or what could be decoded before damage; stops past `cap` bytes.

    `early` is 1 where codes grow one entry early (TIFF; PDF unless EarlyChange is 0).
    """
    table = list(_ROOTS)
    out: list[bytes] = []
    size = pending = held = 0
    width = 9
    previous = b""
    for byte in data:
        held = held << 8 | byte
        pending += 8
        if pending < width:
            continue
        pending -= width
        code = held >> pending
        held &= (1 << pending) - 1
        if code == CLEAR:
            table = list(_ROOTS)
            width = 9
            previous = b""
            continue
        if code == END:
            break
        if code < len(table):
            piece = table[code]
        elif code == len(table) and previous:
            piece = previous + previous[:1]
        else:
            break
        if previous and len(table) < 4096:
            table.append(previous + piece[:1])
            width = min(max((len(table) + early).bit_length(), 9), 12)
        previous = piece
        out.append(piece)
        size += len(piece)
        if size > cap:
            break
    return b"".join(out)
