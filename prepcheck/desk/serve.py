"""Serves a desk until it is told to end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import uvicorn

from prepcheck.book.book import Book
from prepcheck.book.overview import Overview
from prepcheck.desk.app import make_app
from prepcheck.desk.background import Opening
from prepcheck.desk.children import Children
from prepcheck.desk.heads import heads_within
from prepcheck.desk.settings import DeskSettings
from prepcheck.errors import UsageError

_MOST_AT_ONCE = 500
"""Connections; a browser keeps up to six."""
_BACKLOG = 512
_TURN = 0.001
"""Seconds after which a page that is being made lets what goes between browser and pages pass: that
is many short turns, each of which would else wait Python's 5 ms."""


def serve(
    book: Book,
    settings: DeskSettings,
    opening: Opening,
    host: str,
    port: int,
    tell: Callable[[str], None],
) -> None:
    """Serve the desk at a host and a port; `tell` is given its address once it is there.

    Raises UsageError where nothing can be served there.
    """
    import socket
    import sys

    sys.setswitchinterval(_TURN)
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # With its protocol named: only then does asyncio send what is ready at once, rather than have
    # each answer's second piece wait until the browser has acknowledged the first (Nagle).
    taken = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind((host, port))
        taken.listen(_BACKLOG)  # whoever comes before the desk is ready waits
    except OSError as error:
        taken.close()
        raise UsageError(
            f"--host {host} --port {port}: cannot be served on ({error.strerror or error}); "
            "choose another port"
        ) from None
    children = Children(opening, busy=bool(book.unfinished() or Overview(book).asked_releases()))
    app = make_app(
        book, settings,
        wake=children.wake, ask=children.ask, ask_tiles=children.ask_tiles,
        wake_check=children.wake_check, beside=children.take,
        start=children.start, end=children.end,
    )  # fmt: skip
    shown = f"[{host}]" if ":" in host else host
    tell(f"http://{shown}:{taken.getsockname()[1]}{settings.prefix}/")
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, backlog=_BACKLOG,
        limit_concurrency=_MOST_AT_ONCE, timeout_keep_alive=15, timeout_graceful_shutdown=10,
        proxy_headers=True, forwarded_allow_ips="127.0.0.1,::1", http=heads_within(settings.head),
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[taken])


def opening_of(
    where: str,
    files: Path | None,
    settings: DeskSettings,
    jobs: int,
    cluster: str | None = None,
    shared: bool = False,
) -> Opening:
    """Return how the desk's own processes open its book, and have its orders examined."""
    lasts = settings.check_lasts if settings.open_check else None
    return Opening(
        where, files, settings.released_to, jobs, settings.pictures_bytes, lasts, cluster, shared
    )
