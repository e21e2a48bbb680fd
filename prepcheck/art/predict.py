"""Horizontal differencing and packed samples, as TIFF and PDF have them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def tiff_unpredicted(data: bytes, row: int, colours: int, bits: int, order: str = ">") -> bytes:
    """Undo horizontal differencing (TIFF 6.0, section 14): `row` bytes a row."""
    rows = -(-len(data) // row)
    lines = np.frombuffer(data.ljust(rows * row, b"\0"), np.uint8).reshape(rows, row)
    if bits >= 8:
        depth = np.dtype(f"{order}u2" if bits == 16 else "u1")
        values = lines[:, : row // depth.itemsize * depth.itemsize].view(depth)
        deltas = values.reshape(rows, -1, colours)
        summed = np.cumsum(deltas, axis=1, dtype=depth.newbyteorder("="))
        plain: bytes = summed.astype(depth).tobytes()
        return plain
    spread = unpacked_bits(lines, bits)
    whole = spread.shape[1] // colours * colours
    body = np.cumsum(spread[:, :whole].reshape(rows, -1, colours), axis=1, dtype=np.uint8)
    spread[:, :whole] = (body & (1 << bits) - 1).reshape(rows, whole)
    groups = spread.reshape(rows, row, 8 // bits)
    shifts = np.arange(8 - bits, -1, -bits, dtype=np.uint8)
    packed: NDArray[np.uint8] = np.bitwise_or.reduce(groups << shifts, axis=2).astype(np.uint8)
    return packed.tobytes()


def unpacked_bits(lines: NDArray[np.uint8], bits: int) -> NDArray[np.uint8]:
    """Return samples (rows, n) of 1, 2 or 4 bits from packed rows (rows, bytes)."""
    if bits == 1:
        return np.unpackbits(lines, axis=1)
    shifts = np.arange(8 - bits, -1, -bits, dtype=np.uint8)
    spread = lines[:, :, None] >> shifts & (1 << bits) - 1
    return spread.reshape(len(lines), -1).astype(np.uint8)
