"""The board: all orders, by what they wait for."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.book.overview import BoardPart
from prepcheck.book.records import OrderLine, Waiting
from prepcheck.desk.web import Desk, text_of, whole

WAITING = {Waiting.US: "For us", Waiting.CLIENT: "For the client", Waiting.PLANT: "At plates"}
"""The ways an order stands, as the board names them, in the order it shows them."""


class Tile(NamedTuple):
    """A part as the board shows it; `key` is that of its pictures, None while there are none."""

    piece: BoardPart
    key: str | None


class Row(NamedTuple):
    """An order with its parts; `late` where it was due before today."""

    line: OrderLine
    tiles: tuple[Tile, ...]
    late: bool


def board(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show the orders that the address asks for."""
    asked = request.query_params
    waiting = next((w for w in Waiting if w.value == asked.get("waits", "")), None)
    like = asked.get("find", "").strip()[:200]
    due_by, wrong = _day(asked.get("due", ""))
    page = max(1, whole(asked.get("page"), 1))
    most = desk.settings.page_lines
    lines, tally, aside = desk.overview.page(
        waiting_for=waiting, due_by=due_by, like=like or None, first=(page - 1) * most,
        most=most + 1,
    )  # fmt: skip
    more, lines = len(lines) > most, lines[:most]
    return desk.show(
        "board.html", visit,
        rows=rows_of(desk, lines), tally=tally, ways=WAITING, waits=waiting,
        total=sum(tally.values()), find=like, due=due_by, page=page, more=more, wrong=wrong,
        aside=aside, entered=whole(asked.get("entered")),
    )  # fmt: skip


def rows_of(desk: Desk, lines: tuple[OrderLine, ...]) -> list[Row]:
    """Return orders with their parts and pictures."""
    pieces = desk.overview.pieces([line.number for line in lines])
    today = desk.book.clock().astimezone().date()
    rows = []
    for line in lines:
        tiles = tuple(
            Tile(piece, desk.pictures.ready(piece.looks)) for piece in pieces[line.number]
        )
        late = line.due is not None and line.due < today and line.waiting_for is not Waiting.PLANT
        rows.append(Row(line, tiles, late))
    return rows


def _day(text: str) -> tuple[date | None, str]:
    if not text:
        return None, ""
    try:
        return date.fromisoformat(text), ""
    except ValueError:
        return None, f"{text[:40]} is no day; write it as 2026-03-31"


def aside(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show the deliveries that no order was found for."""
    return desk.show("aside.html", visit, deliveries=desk.book.aside(), said=[])


def give(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Give a delivery that was put aside to an order."""
    number = text_of(form, "order", 250)
    delivery = whole(text_of(form, "delivery", 20))
    if number not in desk.book.orders_named((number,)):
        said = [f"There is no order {number}. Write its number just as the board has it."]
        return desk.show("aside.html", visit, 422, deliveries=desk.book.aside(), said=said)
    desk.book.give(delivery, number, visit.person.name)
    desk.wake()
    return desk.go_to_order(number, said="given")
