"""Order numbers as a step of an address, and back: whatever a number is made of."""

from __future__ import annotations

import re

_PLAIN = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")
_STEP = re.compile(r"(?:[A-Za-z0-9_-]|~[0-9a-f]{2})+")


def step_of(number: str) -> str:
    """Return an order's number as one step of an address: 'P-0417', 'A~2f1' for 'A/1'."""
    return "".join(
        c if c in _PLAIN else "".join(f"~{byte:02x}" for byte in c.encode("utf-8", "replace"))
        for c in number
    )


def number_of(step: str) -> str | None:
    """Return the number that `step_of` made this of; None where it is none."""
    if not _STEP.fullmatch(step):
        return None
    raw = re.sub(
        r"~([0-9a-f]{2})|(.)",
        lambda m: chr(int(m[1], 16)) if m[1] else m[2],
        step,
    )
    try:
        return raw.encode("latin-1").decode("utf-8")
    except UnicodeDecodeError:
        return None
