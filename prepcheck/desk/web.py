"""What all pages of the desk share: who asks, what was sent, what is shown."""

from __future__ import annotations

import hmac
import re
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from anyio import CapacityLimiter, to_thread
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from prepcheck.book.access import Access, Visit
from prepcheck.book.book import Book
from prepcheck.book.delivering import Taken
from prepcheck.book.overview import Overview
from prepcheck.book.records import Role, Story
from prepcheck.desk.addresses import number_of, step_of
from prepcheck.desk.assets import Assets
from prepcheck.desk.limiter import Limiter
from prepcheck.desk.pictures import Pictures
from prepcheck.desk.settings import DeskSettings
from prepcheck.desk.taking import Given
from prepcheck.errors import BookError, OutputError, PrepcheckError

SESSION = "prepcheck-desk"
_FOLDER = Path(__file__).parent
_HINT = re.compile(r"[;,]?\s*`prepcheck[^`]*`[^;`]*")
_BROKEN = (
    "The book cannot be read or written at the moment; nothing was recorded. Tell whoever looks "
    "after it."
)

_PAGES_AT_ONCE = 3
"""Pages that are made at a time. More would not be ready sooner, only all of them later, and files
that are coming in would wait with them."""

Beside = Callable[[Given], tuple[Taken, ...]]


@dataclass(frozen=True)
class Desk:
    """A desk on an open book. `wake` tells the worker in the background that there is work,
    `wake_check` that a file is to be checked for somebody outside. `beside` takes in what
    is much work, elsewhere than here; None where it is to be done here."""

    book: Book
    settings: DeskSettings
    env: Environment
    limiter: Limiter
    pictures: Pictures
    wake: Callable[[], None]
    wake_check: Callable[[], None] = lambda: None
    beside: Beside | None = None
    at_work: CapacityLimiter = field(default_factory=lambda: CapacityLimiter(_PAGES_AT_ONCE))

    @property
    def access(self) -> Access:
        return Access(self.book)

    @property
    def overview(self) -> Overview:
        return Overview(self.book)

    def at(self, path: str) -> str:
        """Return the address of a path of the desk, wherever a proxy has hung it."""
        return f"{self.settings.prefix}{path}"

    def show(self, name: str, visit: Visit | None, status: int = 200, **facts: object) -> Response:
        """Return a page."""
        text = self.env.get_template(name).render(visit=visit, **facts)
        return HTMLResponse(text, status)

    async def made(self, page: Callable[[Request], Response], request: Request) -> Response:
        """Return a page that is made beside the others, a few at a time."""
        return await to_thread.run_sync(page, request, limiter=self.at_work)

    def go(self, path: str, **said: str) -> Response:
        """Send the browser on to a path of the desk, after something was done."""
        path, sign, place = path.partition("#")
        asked = f"?{urlencode(said)}" if said else ""
        return RedirectResponse(f"{self.at(path)}{asked}{sign}{place}", 303)

    def go_to_order(self, number: str, place: str = "", **said: str) -> Response:
        """Send the browser on to an order's page."""
        return self.go(f"/order/{step_of(number)}#{place}".rstrip("#"), **said)


def environment(settings: DeskSettings, assets: Assets) -> Environment:
    """Return what makes pages of templates: all that is put in is text, never markup."""
    env = Environment(
        loader=FileSystemLoader(_FOLDER / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        auto_reload=False,  # they come with the program
        lstrip_blocks=True,
    )
    env.globals["at"] = lambda path: f"{settings.prefix}{path}"
    env.globals["static"] = lambda name: f"{settings.prefix}{assets.at(name)}"
    env.globals["order_at"] = lambda number, more="": (
        f"{settings.prefix}/order/{step_of(number)}{more}"
    )
    env.globals["query"] = lambda **asked: urlencode({k: v for k, v in asked.items() if v})
    env.filters["day"] = day
    env.filters["moment"] = moment
    env.filters["size"] = size
    env.filters["breakable"] = breakable
    env.filters["without_commands"] = without_commands
    return env


def day(value: date | datetime | None) -> str:
    """Return a day as it is read: '2 Mar 2026'."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        value = value.astimezone()
    return f"{value.day} {value:%b %Y}"


def moment(value: datetime | None) -> str:
    """Return a time as it is read, by the plant's clock: '2 Mar 2026, 08:04'."""
    return "" if value is None else f"{day(value)}, {value.astimezone():%H:%M}"


def size(count: int) -> str:
    """Return a number of bytes as it is read."""
    if count >= 1_000_000:
        return f"{count / 1e6:.1f} MB" if count < 1e8 else f"{count / 1e6:.0f} MB"
    return f"{max(1, round(count / 1e3))} kB" if count else "0 kB"


def breakable(key: str) -> Markup:
    """Return a key of a spec that may be broken behind its dots and underlines."""
    shown = escape(key)
    for sign in "._":
        shown = shown.replace(sign, Markup(f"{sign}<wbr>"))
    return shown


def without_commands(note: str) -> str:
    """Return what was noted of a file without how to answer on a command line."""
    return note.partition("; say which with --place ")[0]


def desk_of(request: Request) -> Desk:
    """Return the desk that a request came to."""
    found: Desk = request.app.state.desk
    return found


Page = Callable[[Desk, Request, Visit], Response]
Act = Callable[[Desk, Request, Visit, FormData], Response]
Endpoint = Callable[[Request], Coroutine[Any, Any, Response]]


def seen(page: Page, *, role: Role | None = None) -> Endpoint:
    """Return a page that only those see who are logged in, or who have a role."""

    def shown(request: Request) -> Response:
        desk = desk_of(request)
        visit = visit_of(desk, request)
        if visit is None:
            asked = request.url.path.removeprefix(desk.settings.prefix)
            if request.url.query:
                asked += f"?{request.url.query}"
            return desk.go("/login", then=asked)
        _refuse_others(visit, role)
        return page(desk, request, visit)

    async def endpoint(request: Request) -> Response:
        return await desk_of(request).made(shown, request)

    return endpoint


def sent(act: Act, *, role: Role | None = None) -> Endpoint:
    """Return what a form of somebody who is logged in is sent to."""

    async def endpoint(request: Request) -> Response:
        desk = desk_of(request)
        visit = await run_in_threadpool(visit_of, desk, request)
        if visit is None:
            return desk.go("/login", said="ended")
        refuse_foreign(request)
        form = await form_of(request)
        refuse_forged(form, visit)
        _refuse_others(visit, role)
        return await run_in_threadpool(act, desk, request, visit, form)

    return endpoint


def _refuse_others(visit: Visit, role: Role | None) -> None:
    if role is not None and visit.person.role not in (role, Role.ADMIN):
        raise HTTPException(403, f"this is for the role {role.value} only")


def visit_of(desk: Desk, request: Request) -> Visit | None:
    """Return who asks, by the cookie of their session."""
    token = request.cookies.get(SESSION, "")
    return desk.access.visit(token) if re.fullmatch(r"[0-9a-f]{64}", token) else None


def refuse_foreign(request: Request) -> None:
    """Refuse what another site's page has the browser send (Fetch Metadata)."""
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        raise HTTPException(403, "this was sent from another site")


def refuse_forged(form: FormData, visit: Visit) -> None:
    """Refuse a form that is not from a page that this session was shown."""
    if not hmac.compare_digest(text_of(form, "secret").encode(), visit.secret.encode()):
        raise HTTPException(403, "this form is not from a page of yours; load it again")


async def form_of(request: Request) -> FormData:
    """Return a form without files. Raises HTTPException for anything else."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise HTTPException(415, "this is no form")
    return await request.form(max_fields=500, max_part_size=1 << 20)


def text_of(form: FormData, name: str, most: int = 20_000) -> str:
    """Return a field's text, without what stands around it. Raises HTTPException where too long."""
    value = form.get(name, "")
    if not isinstance(value, str) or len(value) > most:
        raise HTTPException(400, f"{name}: is too long")
    return value.strip()


def texts_of(form: FormData, name: str) -> list[str]:
    """Return the texts of a field that is sent several times."""
    return [value for value in form.getlist(name) if isinstance(value, str)]


def number_in(request: Request) -> str:
    """Return the order number in an address. Raises HTTPException."""
    number = number_of(request.path_params["order"])
    if number is None:
        raise HTTPException(404, "there is no such order")
    return number


def story_of(desk: Desk, number: str) -> Story:
    """Return an order's story. Raises HTTPException where there is none."""
    if not desk.book.orders_named((number,)):
        raise HTTPException(404, f"there is no order {number}")
    return desk.book.story(number)


def whole(text: str | None, otherwise: int = 0) -> int:
    """Return a whole number that is written in digits, else another."""
    return int(text) if text and re.fullmatch(r"[0-9]{1,9}", text) else otherwise


def told_by(desk: Desk, fault: PrepcheckError) -> list[str]:
    """Return what a fault says to somebody in a browser: no paths, no commands."""
    places = (str(desk.book.folder), desk.book.database.place, str(desk.settings.released_to))
    inside = isinstance(fault, OutputError) or (
        isinstance(fault, BookError) and any(p in line for p in places for line in fault.lines)
    )
    if inside:
        return [_BROKEN]
    return [_HINT.sub("", line) for line in fault.lines]


def then_of(text: str) -> str:
    """Return a path of the desk to go on to: what leads anywhere else is the board."""
    return text if re.fullmatch(r"/(?:[A-Za-z0-9~_?-][^\\\s#]*)?", text) else "/"


def attached(data: bytes, name: str, kind: str = "application/octet-stream") -> Response:
    """Return bytes for the browser to save, never to show."""
    return Response(data, media_type=kind, headers={"content-disposition": saved_as(name)})


def drawn(path: Path, lasts: int) -> Response:
    """Return a picture that we drew, which the browser may keep for so many seconds.

    It is small enough to be read at once. Raises HTTPException where it was let go meanwhile.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise HTTPException(404, "there is no such picture") from None
    kind = "image/png" if path.suffix == ".png" else "image/jpeg"
    return Response(data, media_type=kind, headers={"cache-control": f"private, max-age={lasts}"})


def saved_as(name: str) -> str:
    """Return the header that has a file saved by a name (RFC 6266), whatever is in it."""
    plain = re.sub(r"[^A-Za-z0-9._ -]", "_", name)[-80:].strip(" .") or "file"
    exact = quote(name.encode("utf-8", "replace")[-240:], safe="")
    return f"attachment; filename=\"{plain}\"; filename*=UTF-8''{exact}"
