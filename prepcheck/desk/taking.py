"""Files that have come, taken into the book: here, or in a process of its own."""

from __future__ import annotations

from dataclasses import dataclass

from prepcheck.book.book import Book
from prepcheck.book.delivering import Taken, take_in
from prepcheck.book.looking import each_once
from prepcheck.intake.unpack import Delivered, looks_like_zip


@dataclass(frozen=True, slots=True)
class Given:
    """A delivery as it came: for an order, or for those that its files tell."""

    files: tuple[Delivered, ...]
    number: str | None
    who: str
    sender: str | None
    way: str

    @property
    def is_work(self) -> bool:
        """Whether archives are to be unpacked, or type to be read to know the order."""
        return self.number is None or any(looks_like_zip(one.path) for one in self.files)


def take(book: Book, given: Given) -> tuple[Taken, ...]:
    """Keep a delivery's files and record them. Raises BookError."""
    look = each_once() if given.number is None else None  # as `receive` looks for an order
    return take_in(
        book, given.files, given.number, given.who, sender=given.sender, way=given.way, look=look,
        ours=True,
    )  # fmt: skip
