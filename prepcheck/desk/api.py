"""What other programs of the plant ask the desk: orders entered, files sent, verdicts read.

`openapi.py` describes it; a test holds the two together. A program shows its token in the header
`Authorization: Bearer TOKEN`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from prepcheck.book.entering import enter_new_orders, order_of
from prepcheck.book.records import Examination, Story
from prepcheck.book.telling import as_json
from prepcheck.desk.client_page import proof_of
from prepcheck.desk.drop import take, with_files
from prepcheck.desk.multipart import Received
from prepcheck.desk.new_order import with_known_specs
from prepcheck.desk.openapi import description
from prepcheck.desk.specs_page import own_specs
from prepcheck.desk.web import Desk, Endpoint, desk_of, number_in, story_of
from prepcheck.errors import OrderError

_TOKEN = re.compile(r"Bearer ([0-9a-f]{64})", re.IGNORECASE)
Ask = Callable[[Desk, Request, str], Response]


def asked(ask: Ask) -> Endpoint:
    """Return what only programs with a token are answered by; `ask` is given their name."""

    def answered(request: Request) -> Response:
        desk = desk_of(request)
        return ask(desk, request, program_of(desk, request))

    async def endpoint(request: Request) -> Response:
        return await run_in_threadpool(answered, request)

    return endpoint


def program_of(desk: Desk, request: Request) -> str:
    """Return the name of the program that asks. Raises HTTPException."""
    place = f"program from {request.client.host if request.client else 'nowhere'}"
    if desk.limiter.closed(place):
        raise HTTPException(429, "too many wrong tokens; wait a few minutes")
    found = _TOKEN.fullmatch(request.headers.get("authorization", ""))
    name = None if found is None else desk.access.program(found[1].lower())
    if name is None:
        desk.limiter.failed(place)
        raise HTTPException(
            401, "no token, or one that is not known", {"WWW-Authenticate": "Bearer"}
        )
    return name


def openapi(request: Request) -> Response:
    """Return the description of all this (OpenAPI 3.1)."""
    return JSONResponse(description(desk_of(request).at("/api/v1")))


def page(request: Request) -> Response:
    """Show the description to people."""
    desk = desk_of(request)
    return desk.show("api.html", None, api=description(desk.at("/api/v1")))


async def create(request: Request) -> Response:
    """Enter an order; one with its number must not be there yet."""
    desk = desk_of(request)
    who = await run_in_threadpool(program_of, desk, request)
    try:
        table: Any = await request.json()
    except (ValueError, RecursionError):
        raise HTTPException(400, "the body is no JSON") from None
    return await run_in_threadpool(_created, desk, who, table)


def _created(desk: Desk, who: str, table: Any) -> Response:
    if not isinstance(table, dict):
        raise HTTPException(422, "the body is no table")
    due = _day(table.pop("due", None))
    read = with_known_specs(order_of(table), own_specs(desk))
    number = read.order.order.number
    if desk.book.orders_named((number,)):
        raise HTTPException(409, f"order {number} is in the book already")
    enter_new_orders(desk.book, [(read, due)], who)
    return JSONResponse(table_of(desk, desk.book.story(number)), 201)


def _day(text: Any) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except (TypeError, ValueError):
        raise OrderError("due: is no day; write it as 2026-03-31") from None


def order(desk: Desk, request: Request, who: str) -> Response:
    """Return where an order stands."""
    return JSONResponse(table_of(desk, story_of(desk, number_in(request))))


def table_of(desk: Desk, story: Story) -> dict[str, Any]:
    """Return an order as programs read it; `verdict` is that of the latest examination."""
    line = story.line
    last = story.examinations[-1] if story.examinations else None
    pieces = desk.overview.pieces([line.number])[line.number]
    return {
        "number": line.number,
        "client": line.client,
        "title": line.title,
        "catalogue": line.catalogue,
        "due": None if line.due is None else line.due.isoformat(),
        "round": line.round,
        "waiting_for": line.waiting_for.value,
        "waiting_why": line.waiting_why,
        "examined": story.examined,
        "verdict": None if last is None else last.verdict,
        "missing": list(story.missing),
        "parts": [
            {"name": part.name, "state": piece.state, "file": part.file, "sha256": part.digest}
            for part, piece in zip(story.parts, pieces, strict=True)
        ],
        "open": [
            {
                "number": one.number, "part": one.part, "check": one.check,
                "severity": one.severity, "message": one.message, "fix": one.fix,
            }
            for one in story.open
        ],
        "released": story.releases[-1].revision if story.releases else None,
    }  # fmt: skip


async def files(request: Request) -> Response:
    """Take files in for an order; they are examined in the background."""
    desk = desk_of(request)
    who = await run_in_threadpool(program_of, desk, request)
    number = number_in(request)
    await run_in_threadpool(story_of, desk, number)
    return await with_files(
        desk, request, lambda fields: None, lambda received: _taken(desk, number, who, received)
    )


def _taken(desk: Desk, number: str, who: str, received: Received) -> Response:
    sender = received.fields.get("sender", "")[:250] or None
    taken = take(desk, received.files, number, who, sender, "by a program")
    delivery = desk.book.delivery(taken.delivery)
    table = {
        "delivery": delivery.id, "round": delivery.round, "new": taken.new,
        "files": [{"name": one.name, "sha256": one.digest} for one in delivery.files],
        "refused": list(taken.refused),
    }  # fmt: skip
    return JSONResponse(table, 202)


def report(desk: Desk, request: Request, who: str) -> Response:
    """Return the report of the latest examination, as `prepcheck check` writes it."""
    last = _latest(story_of(desk, number_in(request)))
    return Response(desk.book.store.read(last.report), media_type="application/json")


def proof(desk: Desk, request: Request, who: str) -> Response:
    """Return the proof of the files as they are now."""
    found = proof_of(story_of(desk, number_in(request)))
    if found is None or found.proof is None:
        raise HTTPException(404, "there is no proof of the files as they are now")
    return Response(desk.book.store.read(found.proof), media_type="application/pdf")


def _latest(story: Story) -> Examination:
    if not story.examinations:
        raise HTTPException(404, "nothing has been examined yet")
    return story.examinations[-1]


def orders(desk: Desk, request: Request, who: str) -> Response:
    """Return the board, a page at a time."""
    asked_ = request.query_params
    like, page_ = asked_.get("find", "")[:200] or None, asked_.get("page", "1")
    number = int(page_) if re.fullmatch(r"[1-9][0-9]{0,5}", page_) else 1
    most = desk.settings.page_lines
    lines = desk.book.orders(like=like, first=(number - 1) * most, most=most)
    return Response(as_json("orders", lines), media_type="application/json")
