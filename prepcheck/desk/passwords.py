"""Passwords of people: hashed with argon2id, by the library's own parameters (RFC 9106)."""

from __future__ import annotations

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from prepcheck.errors import UsageError

LEAST, MOST = 10, 200
"""Characters of a password. Without a limit upwards, hashing alone would keep the desk busy."""


def hashed(password: str, *, hasher: PasswordHasher | None = None) -> str:
    """Return the hash of a password. Raises UsageError for one that is too short or too long."""
    if not LEAST <= len(password) <= MOST:
        raise UsageError(f"a password has {LEAST} to {MOST} characters; choose another")
    return (hasher or PasswordHasher()).hash(_bytes(password))


def right(known: str | None, password: str) -> bool:
    """Say whether a password is the one with this hash.

    It takes as long where there is no hash, so that nobody learns by the time who is known.
    """
    hasher = PasswordHasher()
    try:
        found = hasher.verify(known or _nobody(), _bytes(password[:MOST]))
    except (VerificationError, InvalidHashError):
        return False
    return found and known is not None


def _nobody() -> str:
    """Return a hash of the same cost, of a password that nobody knows."""
    return (
        "$argon2id$v=19$m=65536,t=3,p=4$c2FsdHNhbHRzYWx0c2FsdA"
        "$FiyEW2jNnq0AWpX5fXAXGvYmDNcSEdw3QQvL0AgMqJM"
    )


def _bytes(password: str) -> bytes:
    return password.encode("utf-8", "replace")
