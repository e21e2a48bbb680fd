"""Times as the book keeps them: UTC, to the microsecond, as text that sorts."""

from __future__ import annotations

from datetime import UTC, datetime

_FORM = "%Y-%m-%dT%H:%M:%S.%fZ"


def stamp(moment: datetime) -> str:
    """Return an aware time as text, such as '2026-03-01T09:30:00.000000Z'."""
    return moment.astimezone(UTC).strftime(_FORM)


def moment(text: str) -> datetime:
    """Return the aware time (UTC) that `stamp` wrote."""
    return datetime.fromisoformat(text)


def now() -> datetime:
    """Return the time now, aware, in UTC."""
    return datetime.now(UTC)
