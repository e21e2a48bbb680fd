"""The desk as an application (ASGI): its addresses, and what becomes of faults."""

from __future__ import annotations

import logging
import shutil
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from prepcheck.book.book import Book
from prepcheck.book.overview import ExaminedAs
from prepcheck.book.records import Role
from prepcheck.desk import (
    api,
    art_page,
    board,
    check_page,
    client_page,
    drop,
    entrance,
    letter_page,
    new_order,
    order_page,
    people_page,
    specs_page,
)
from prepcheck.desk.assets import Assets, read_assets
from prepcheck.desk.gate import Guard
from prepcheck.desk.limiter import Limiter
from prepcheck.desk.pictures import Pictures
from prepcheck.desk.settings import DeskSettings
from prepcheck.desk.web import Beside, Desk, desk_of, environment, seen, sent, told_by, visit_of
from prepcheck.errors import OrderError, PrepcheckError, SpecError, UsageError, itself_failed
from prepcheck.proof.shipped_fonts import FOLDER as FONTS
from prepcheck.proof.theme import FontFile

_LOG = logging.getLogger("prepcheck.desk")
_HEADS = {
    400: "That could not be read",
    403: "Not allowed",
    404: "Not here",
    405: "Not done this way",
    408: "Too slow",
    401: "Who is asking?",
    409: "Not recorded",
    413: "Too much",
    415: "That could not be read",
    422: "Not recorded",
    429: "Too many tries",
    500: "The desk itself failed",
}


def make_app(
    book: Book,
    settings: DeskSettings,
    *,
    wake: Callable[[], None] = lambda: None,
    ask: Callable[[ExaminedAs], None] = lambda looks: None,
    ask_tiles: Callable[[ExaminedAs], None] = lambda looks: None,
    wake_check: Callable[[], None] = lambda: None,
    beside: Beside | None = None,
    start: Callable[[], None] = lambda: None,
    end: Callable[[], None] = lambda: None,
) -> ASGIApp:
    """Return the desk on an open book.

    `wake`, `ask`, `ask_tiles` and `wake_check` have work done in the background: deliveries and
    releases, pictures, the viewer's tiles, checks for people outside; `beside`
    takes in what is much work. `start` and `end` are called as the desk begins and ends to serve.
    """

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        drop.clear_arriving(book.folder)
        if not settings.open_check:  # offered no more: of what was sent nothing stays
            shutil.rmtree(book.folder / "checks", ignore_errors=True)
        start()
        yield
        end()

    assets = read_assets()
    app = Starlette(
        routes=_routes(assets),
        lifespan=life,
        exception_handlers={
            HTTPException: _refused,
            PrepcheckError: _faulty,
            Exception: _failed,
        },
    )
    app.router.redirect_slashes = False
    app.state.desk = Desk(
        book, settings, environment(settings, assets),
        Limiter(settings.tries, settings.tries_within),
        Pictures(book.folder / "pictures", ask, ask_tiles), wake, wake_check, beside,
    )  # fmt: skip
    return Guard(app, prefix=settings.prefix, limit=_limit(settings), patience=settings.patience)


def _limit(settings: DeskSettings) -> Callable[[str], int]:
    def most(path: str) -> int:
        if path == "/check":
            return settings.check_bytes if settings.open_check else settings.form_bytes
        takes = path == "/drop" or path.endswith("/files")
        return settings.delivery_bytes if takes else settings.form_bytes

    return most


def _routes(assets: Assets) -> list[Route]:
    order = "/order/{order}"
    return [
        Route("/login", entrance.login_page, methods=["GET"]),
        Route("/login", entrance.log_in, methods=["POST"]),
        Route("/logout", sent(entrance.log_out), methods=["POST"]),
        Route("/", seen(board.board), methods=["GET"]),
        Route("/aside", seen(board.aside), methods=["GET"]),
        Route("/aside", sent(board.give), methods=["POST"]),
        Route("/orders/new", seen(new_order.page), methods=["GET"]),
        Route("/orders/new", sent(new_order.by_form), methods=["POST"]),
        Route("/orders/file", sent(new_order.by_file), methods=["POST"]),
        Route("/orders/table", sent(new_order.by_table), methods=["POST"]),
        Route("/drop", drop.drop, methods=["POST"]),
        Route(order, seen(order_page.order), methods=["GET"]),
        Route(f"{order}/decide", sent(order_page.decide), methods=["POST"]),
        Route(f"{order}/ask", sent(order_page.ask), methods=["POST"]),
        Route(f"{order}/answer", sent(order_page.answer), methods=["POST"]),
        Route(f"{order}/place", sent(order_page.place), methods=["POST"]),
        Route(f"{order}/release", sent(order_page.release), methods=["POST"]),
        Route(f"{order}/link", sent(order_page.make_link), methods=["POST"]),
        Route(f"{order}/unlink", sent(order_page.revoke_link), methods=["POST"]),
        Route(f"{order}/letter", seen(letter_page.letter), methods=["GET"]),
        Route(f"{order}/letter", sent(letter_page.write), methods=["POST"]),
        Route(f"{order}/file/{{file:int}}", seen(order_page.file), methods=["GET"]),
        Route(f"{order}/proof/{{examination:int}}", seen(order_page.proof), methods=["GET"]),
        Route(f"{order}/manifest/{{revision:int}}", seen(order_page.manifest), methods=["GET"]),
        Route(f"{order}/art/{{part:int}}", seen(art_page.art), methods=["GET"]),
        Route(f"{order}/art/{{part:int}}/facts", seen(art_page.facts), methods=["GET"]),
        Route("/picture/{key}/{name}", seen(order_page.picture), methods=["GET"]),
        Route("/c/{token}", client_page.opened(client_page.page), methods=["GET"]),
        Route("/c/{token}/proof", client_page.opened(client_page.proof), methods=["GET"]),
        Route(
            "/c/{token}/picture/{key}/{name}",
            client_page.opened(client_page.picture),
            methods=["GET"],
        ),
        Route("/c/{token}/answer", client_page.told(client_page.answer), methods=["POST"]),
        Route("/c/{token}/sign", client_page.told(client_page.sign), methods=["POST"]),
        Route("/c/{token}/files", client_page.files, methods=["POST"]),
        Route("/check", check_page.form, methods=["GET"]),
        Route("/check", check_page.send, methods=["POST"]),
        Route("/check/{token}", check_page.result, methods=["GET"]),
        Route("/check/{token}/proof", check_page.proof, methods=["GET"]),
        Route(
            "/check/{token}/picture/{part:int}/page-{page:int}.jpg",
            check_page.picture,
            methods=["GET"],
        ),
        Route("/check/{token}/end", check_page.end, methods=["POST"]),
        Route("/people", seen(people_page.people, role=Role.ADMIN), methods=["GET"]),
        Route("/people", sent(people_page.add, role=Role.ADMIN), methods=["POST"]),
        Route("/specs", seen(specs_page.specs), methods=["GET"]),
        Route("/specs/own", sent(specs_page.save, role=Role.APPROVER), methods=["POST"]),
        Route("/specs/own/{name}", seen(specs_page.edit, role=Role.APPROVER), methods=["GET"]),
        Route("/specs/{name}", seen(specs_page.spec), methods=["GET"]),
        Route("/specs/{name}/template", seen(specs_page.template), methods=["GET"]),
        Route("/api/v1/", api.page, methods=["GET"]),
        Route("/api/v1/openapi.json", api.openapi, methods=["GET"]),
        Route("/api/v1/orders", api.asked(api.orders), methods=["GET"]),
        Route("/api/v1/orders", api.create, methods=["POST"]),
        Route("/api/v1/orders/{order}", api.asked(api.order), methods=["GET"]),
        Route("/api/v1/orders/{order}/files", api.files, methods=["POST"]),
        Route("/api/v1/orders/{order}/report", api.asked(api.report), methods=["GET"]),
        Route("/api/v1/orders/{order}/proof", api.asked(api.proof), methods=["GET"]),
        Route("/type/{face}.ttf", _face, methods=["GET"]),
        Route("/static/{stamp}/{name}", assets.answer, methods=["GET"]),
    ]


def _face(request: Request) -> Response:
    """Hand out one of the proof's faces."""
    face = request.path_params["face"]
    if face not in {one.value for one in FontFile}:
        raise HTTPException(404, "there is no such face")
    headers = {"cache-control": "public, max-age=604800"}
    return FileResponse(FONTS / f"{face}.ttf", media_type="font/ttf", headers=headers)


def _refused(request: Request, fault: Exception) -> Response:
    status = fault.status_code if isinstance(fault, HTTPException) else 500
    said = fault.detail if isinstance(fault, HTTPException) else ""
    headers = fault.headers if isinstance(fault, HTTPException) else None
    if status == 404 and said == "Not Found":
        said = "there is no such page"
    return _told(request, status, [f"{said[:1].upper()}{said[1:]}."], dict(headers or {}))


def _faulty(request: Request, fault: Exception) -> Response:
    lines = told_by(desk_of(request), fault) if isinstance(fault, PrepcheckError) else []
    status = 422 if isinstance(fault, OrderError | SpecError | UsageError) else 409
    return _told(request, status, lines)


def _failed(request: Request, fault: Exception) -> Response:
    _LOG.error("%s %s: %s", request.method, request.url.path, itself_failed(fault))
    return _told(request, 500, ["Nothing was recorded. Tell whoever looks after the desk when."])


def _told(
    request: Request, status: int, lines: list[str], headers: dict[str, str] | None = None
) -> Response:
    """Return a fault as the asker reads it: as JSON for programs, else as a page."""
    desk = desk_of(request)
    if request.url.path.removeprefix(desk.settings.prefix).startswith("/api/"):
        table: dict[str, Any] = {"error": {"status": status, "lines": lines}}
        return JSONResponse(table, status, headers=headers)
    try:
        visit = None if "token" in request.path_params else visit_of(desk, request)
    except PrepcheckError:
        visit = None
    head = _HEADS.get(status, "That did not work")
    answer = desk.show("error.html", visit, status, head=head, number=status, lines=lines)
    for name, value in (headers or {}).items():
        answer.headers[name] = value
    return answer
