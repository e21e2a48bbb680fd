"""Files taken in at the desk: streamed to disk, kept in the book, then matched and examined in the
background."""

from __future__ import annotations

import hmac
import shutil
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.book.delivering import Taken
from prepcheck.desk.multipart import Received, receive_form
from prepcheck.desk.taking import Given
from prepcheck.desk.taking import take as taken_in
from prepcheck.desk.web import Desk, desk_of, refuse_foreign, visit_of
from prepcheck.intake.unpack import Delivered

ARRIVING = "arriving"
"""Folder in the book's where files lie while they come; what is broken off there is removed."""


async def drop(request: Request) -> Response:
    """Take files in for an order, or for the one that they name."""
    desk = desk_of(request)
    visit = await run_in_threadpool(visit_of, desk, request)
    if visit is None:
        return desk.go("/login", said="ended")
    refuse_foreign(request)
    who: Visit = visit

    def allowed(fields: dict[str, str]) -> None:
        if not hmac.compare_digest(fields.get("secret", "").encode(), who.secret.encode()):
            raise HTTPException(403, "this form is not from a page of yours; load it again")
        number = fields.get("order", "")
        if number and number not in desk.book.orders_named((number,)):
            raise HTTPException(422, f"there is no order {number}; nothing was taken in")

    return await with_files(desk, request, allowed, lambda received: _taken(desk, who, received))


async def with_files(
    desk: Desk,
    request: Request,
    allowed: Callable[[dict[str, str]], None],
    then: Callable[[Received], Response],
    most_files: int | None = None,
) -> Response:
    """Stream a form's files to disk, answer with what is made of them, and take them away again.

    `allowed` sees the fields before the first file is written.
    """
    folder = new_folder(desk)
    try:
        received = await receive_form(
            request.headers.get("content-type", ""), request.stream(), folder,
            most_files=most_files or desk.settings.delivery_files, allowed=allowed,
        )  # fmt: skip
        return await run_in_threadpool(then, received)
    finally:
        await run_in_threadpool(shutil.rmtree, folder, True)


def _taken(desk: Desk, visit: Visit, received: Received) -> Response:
    number = received.fields.get("order") or None
    sender = received.fields.get("sender", "")[:250] or None
    taken = take(desk, received.files, number, visit.person.name, sender, "at the desk")
    if taken.order is None:
        return desk.go("/aside")
    return desk.go_to_order(taken.order, "rounds", said="received" if taken.new else "again")


def take(
    desk: Desk,
    files: Sequence[Delivered],
    number: str | None,
    who: str,
    sender: str | None,
    way: str,
) -> Taken:
    """Keep files in the book and have them looked at. Raises HTTPException where there is none."""
    if not files:
        raise HTTPException(422, "choose a file first; nothing was taken in")
    given = Given(tuple(_told_apart(files)), number, who, sender, way)
    taken = desk.beside(given) if desk.beside and given.is_work else taken_in(desk.book, given)
    desk.wake()
    # Of files for several orders those of the first are shown; each order has its own.
    return next((one for one in taken if one.order is not None), taken[0])


def _told_apart(files: Sequence[Delivered]) -> list[Delivered]:
    """Return files of which no two have one name."""
    seen: dict[str, int] = {}
    apart = []
    for one in files:
        count = seen[one.name] = seen.get(one.name, 0) + 1
        apart.append(one if count == 1 else Delivered(f"{count} of {one.name}", one.path))
    return apart


def new_folder(desk: Desk) -> Path:
    """Return a new folder for files that come, on the book's own disk."""
    place = desk.book.folder / ARRIVING
    place.mkdir(exist_ok=True)
    return Path(tempfile.mkdtemp(dir=place))


def clear_arriving(folder: Path) -> None:
    """Remove what an earlier desk on this book was taking in when it ended."""
    shutil.rmtree(folder / ARRIVING, ignore_errors=True)
