"""What every request and answer passes: where the desk hangs, how much may come, how the browser
is to treat what it gets."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable

from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from prepcheck.errors import itself_failed

_LOG = logging.getLogger("prepcheck.desk")
POLICY = (
    "default-src 'none'; img-src 'self'; style-src 'self'; script-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""Nothing inline, nothing from elsewhere (Content Security Policy Level 3)."""
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
}

_DRIBBLE, _LEAST_RATE = 4.0, 1000.0
"""After so many times its patience the desk wants so many bytes a second on the whole."""


class Guard:
    """Wraps the desk's pages.

    `limit` gives the most bytes that a request to a path may bring. What comes slower than one
    piece in `patience` seconds is broken off, and what dribbles on for much longer too.
    """

    def __init__(
        self, app: ASGIApp, *, prefix: str, limit: Callable[[str], int], patience: float
    ) -> None:
        self.app, self.prefix, self.limit, self.patience = app, prefix, limit, patience

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        path = scope["path"]
        if self.prefix:
            if path == self.prefix or path.startswith(f"{self.prefix}/"):
                path = path[len(self.prefix) :] or "/"
            # A proxy may hand on the prefix or cut it off; the desk serves both.
            scope = {**scope, "root_path": self.prefix, "path": self.prefix + path}
        most, had, whole = self.limit(path), 0, False
        began = asyncio.get_running_loop().time()

        async def counted() -> Message:
            nonlocal had, whole
            if whole:  # what comes now is only that the browser has gone
                return await receive()
            try:
                message = await asyncio.wait_for(receive(), self.patience)
            except TimeoutError:
                raise HTTPException(408, "nothing more came in time; send it again") from None
            had += len(message.get("body", b""))
            since = asyncio.get_running_loop().time() - began
            if since > _DRIBBLE * self.patience and had < since * _LEAST_RATE:
                raise HTTPException(408, "this came too slowly; send it again")
            if had > most:
                raise HTTPException(413, "this is more than may be sent at once")
            whole = not message.get("more_body", False)
            return message

        answered = False

        async def with_headers(message: Message) -> None:
            nonlocal answered
            answered = True
            if message["type"] == "http.response.start":
                headers = list(message.get("headers", ()))
                there = {name.lower() for name, _ in headers}
                own = {**HEADERS}
                if b"cache-control" not in there:
                    own["cache-control"] = "no-store"
                if scope.get("scheme") == "https":
                    own["strict-transport-security"] = "max-age=31536000"
                headers += [
                    (name.encode(), value.encode())
                    for name, value in own.items()
                    if name.encode() not in there
                ]
                message = {**message, "headers": headers}
            await send(message)

        declared = dict(scope["headers"]).get(b"content-length", b"0")
        if not declared.isdigit() or int(declared) > most:
            await _refused(scope, receive, with_headers)
            return
        try:
            await self.app(scope, counted, with_headers)
        except Exception as error:
            # It has been told to who asked, and to the log in one line, by the application.
            if not answered:
                _LOG.error("%s %s: %s", scope["method"], path, itself_failed(error))
                await _failed(scope, receive, with_headers)


async def _failed(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer where the application could not."""
    from starlette.responses import PlainTextResponse

    await PlainTextResponse("The desk itself failed.", 500)(scope, receive, send)


async def _refused(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer before anything is read."""
    from starlette.responses import PlainTextResponse

    answer = PlainTextResponse(
        "This is more than may be sent at once.", 413, {"connection": "close"}
    )
    await answer(scope, receive, send)
