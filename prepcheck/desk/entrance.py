"""Logging in and out."""

from __future__ import annotations

import hmac
import secrets

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.desk.passwords import right
from prepcheck.desk.web import (
    SESSION,
    Desk,
    desk_of,
    form_of,
    refuse_foreign,
    text_of,
    then_of,
)

ENTRY = "prepcheck-entry"
"""Cookie of the page for logging in: what it holds stands in its form as well."""
_SAID = {
    "ended": "You are not logged in any more. Nothing was recorded; log in and do it again.",
    "out": "You are logged out.",
}


def login_page(request: Request) -> Response:
    """Show the form."""
    desk = desk_of(request)
    said = _SAID.get(request.query_params.get("said", ""), "")
    return _form(desk, request, then_of(request.query_params.get("then", "/")), said, 200)


def _form(desk: Desk, request: Request, then: str, said: str, status: int) -> Response:
    entry = secrets.token_hex(16)
    answer = desk.show("login.html", None, status, entry=entry, then=then, said=said)
    _set(answer, desk, request, ENTRY, entry, None)
    return answer


async def log_in(request: Request) -> Response:
    """Begin a session for whoever gives the right password."""
    desk = desk_of(request)
    refuse_foreign(request)
    form = await form_of(request)
    entry = request.cookies.get(ENTRY, "")
    if not entry or not hmac.compare_digest(text_of(form, "entry").encode(), entry.encode()):
        return _form(desk, request, "/", "This page was too old. Please log in again.", 403)
    return await run_in_threadpool(_let_in, desk, request, form)


def _let_in(desk: Desk, request: Request, form: FormData) -> Response:
    name, then = text_of(form, "name", 250), then_of(text_of(form, "then"))
    place = request.client.host if request.client else "nowhere"
    keys = (f"from {place}", f"as {name.casefold()}")
    if desk.limiter.closed(*keys):
        raise HTTPException(429, "too many wrong passwords; wait a few minutes")
    password = form.get("password", "")
    if not isinstance(password, str) or not right(desk.access.password_of(name), password):
        desk.limiter.failed(*keys)
        desk.book.note(name[:250] or "nobody", "login refused", None, {"from": place})
        return _form(desk, request, then, "Name and password do not go together.", 401)
    desk.limiter.succeeded(*keys)
    token = desk.access.log_in(name, desk.settings.session)
    answer = desk.go(then)
    _set(answer, desk, request, SESSION, token, int(desk.settings.session.total_seconds()))
    return answer


def log_out(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """End the session."""
    desk.access.log_out(visit)
    answer = desk.go("/login", said="out")
    answer.delete_cookie(SESSION, path=desk.settings.prefix or "/")
    return answer


def _set(
    answer: Response, desk: Desk, request: Request, name: str, value: str, lasts: int | None
) -> None:
    answer.set_cookie(
        name, value, max_age=lasts, path=desk.settings.prefix or "/", httponly=True,
        samesite="lax", secure=request.url.scheme == "https",
    )  # fmt: skip
