"""How a desk is set up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path


@dataclass(frozen=True, slots=True)
class DeskSettings:
    """What a desk allows; sizes in bytes, times in seconds where they do not say otherwise.

    `prefix` is the path that a proxy serves the desk under, '' or such as '/plant'; `released_to`
    the folder in which releases are written.
    """

    prefix: str = ""
    released_to: Path = Path("prepcheck-released")
    session: timedelta = timedelta(hours=12)
    link: timedelta = timedelta(days=30)
    form_bytes: int = 1 << 20
    delivery_bytes: int = 2 << 30
    delivery_files: int = 200
    patience: float = 30.0
    """How long the desk waits for the next bytes of a request."""
    head: float = 10.0
    """How long the head of a request may take to come."""
    tries: int = 10
    """Wrong passwords or tokens from one place, or for one name, within `tries_within`."""
    tries_within: float = 300.0
    page_lines: int = 50
    """Orders on one page of the board."""
    pictures_bytes: int = 4 << 30
    """What pictures of art may come to on disk; those not looked at for longest go first."""
    open_check: bool = False
    """Whether anybody may check a file of theirs without logging in."""
    check_bytes: int = 200_000_000
    check_lasts: float = 3600.0
    """Seconds after which nothing is kept of such a check."""
    check_most: int = 40
    """Such checks that are kept at a time."""
