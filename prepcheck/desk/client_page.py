"""The client's page of one order, opened by a link: what was found, beside its place; corrected
files, answers, and their word on the proof."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Link
from prepcheck.book.letters import as_decided
from prepcheck.book.records import Examination, FindingLine, Story
from prepcheck.desk.drop import take, with_files
from prepcheck.desk.multipart import Received
from prepcheck.desk.order_view import PageView, latest, pages_view, value_of
from prepcheck.desk.web import (
    Desk,
    Endpoint,
    attached,
    desk_of,
    drawn,
    form_of,
    refuse_foreign,
    text_of,
    whole,
)
from prepcheck.errors import BookError

CHOICES = {
    "approved": "I approve it as it is",
    "with-changes": "I approve it with changes, named below",
    "file-follows": "A corrected file follows",
}
"""What a client may say of the proof: as on the proof itself."""
_SAID = {
    "answered": "Thank you. Your answer is recorded.",
    "signed": "Thank you. Your word on the proof is recorded.",
    "received": "Thank you. Your files have come and are being looked at; come back in a while.",
    "again": "These very files came before; nothing has changed.",
}
_STALE = (
    "Nothing was recorded: something has changed since you opened this page. Look at it as it is "
    "now, then say it again. What you wrote is kept below."
)


@dataclass(frozen=True, slots=True)
class ClientFinding:
    """A finding as the client reads it: what it is, what to do, what we ask, what they said."""

    number: int
    severity: str
    message: str
    measured: str
    required: str
    fix: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ClientPart:
    """A part with its pictures and what is still open of it; `state` as on the board."""

    name: str
    file: str | None
    state: str
    pages: tuple[PageView, ...]
    findings: tuple[ClientFinding, ...]


Page = Callable[[Desk, Request, Link], Response]
Act = Callable[[Desk, Request, Link, FormData], Response]


def opened(page: Page) -> Endpoint:
    """Return a page that only those see who have the link."""

    def shown(request: Request) -> Response:
        desk = desk_of(request)
        return page(desk, request, link_of(desk, request))

    async def endpoint(request: Request) -> Response:
        return await desk_of(request).made(shown, request)

    return endpoint


def told(act: Act) -> Endpoint:
    """Return what a form on the client's page is sent to. The link itself is its secret: nobody
    else's page knows where to send to."""

    async def endpoint(request: Request) -> Response:
        desk = desk_of(request)
        link = await run_in_threadpool(link_of, desk, request)
        refuse_foreign(request)
        form = await form_of(request)
        return await run_in_threadpool(act, desk, request, link, form)

    return endpoint


def link_of(desk: Desk, request: Request) -> Link:
    """Return the link that a request came by. Raises HTTPException for one that opens nothing."""
    token = request.path_params["token"]
    place = f"link from {request.client.host if request.client else 'nowhere'}"
    if desk.limiter.closed(place):
        raise HTTPException(429, "too many links that open nothing; wait a few minutes")
    found = desk.access.link(token) if re.fullmatch(r"[0-9a-f]{32}", token) else None
    if found is None:
        desk.limiter.failed(place)
        raise HTTPException(404, "this link opens nothing any more; ask the plant for a new one")
    return found


def page(desk: Desk, request: Request, link: Link) -> Response:
    """Show the order to its client."""
    said = _SAID.get(request.query_params.get("said", ""), "")
    return _shown(desk, request, link, said=said)


def _shown(
    desk: Desk,
    request: Request,
    link: Link,
    *,
    status: int = 200,
    said: str = "",
    wrong: tuple[str, ...] = (),
    typed: dict[str, str] | None = None,
) -> Response:
    story = desk.book.story(link.order)
    base = f"/c/{request.path_params['token']}"
    busy = any(d.state != "examined" for d in story.deliveries)
    parts = _parts(desk, story, base)
    last = proof_of(story)
    stops = any(f.severity == "stop" for f in story.open)
    signed = [one for one in story.signoffs if one.round == story.line.round]
    return desk.show(
        "client.html", None, status,
        link=link, line=story.line, base=base, parts=parts, missing=story.missing, busy=busy,
        proof=last, choices=CHOICES, stops=stops, open=len(story.open),
        signed=signed[-1] if signed else None, seen=latest(story), said=said, wrong=wrong,
        typed=typed or {}, released=bool(story.releases),
        questions=[q for q in story.questions if q.finding is None and q.text],
    )  # fmt: skip


def _parts(desk: Desk, story: Story, base: str) -> list[ClientPart]:
    pieces = desk.overview.pieces([story.line.number])[story.line.number]
    of_order = [f for f in story.open if f.part is None]
    parts = []
    if of_order:
        found = tuple(_told(story, f) for f in of_order)
        parts.append(ClientPart("The order as a whole", None, found[0].severity, (), found))
    for part, piece in zip(story.parts, pieces, strict=True):
        own = [f for f in story.open if f.part == part.name]
        key = desk.pictures.ready(piece.looks)
        pages = () if key is None else pages_view(desk, key, own, f"{base}/picture")
        found = tuple(_told(story, f) for f in own)
        parts.append(ClientPart(part.name, part.file, piece.state, pages, found))
    return parts


def _told(story: Story, line: FindingLine) -> ClientFinding:
    finding = as_decided(line)
    answers = tuple(
        q.answer for q in story.questions if q.finding == line.number and q.answer is not None
    )
    return ClientFinding(
        line.number, line.severity, finding.message, value_of(finding, "measured"),
        value_of(finding, "required"), finding.fix, answers,
    )  # fmt: skip


def proof_of(story: Story) -> Examination | None:
    """Return the examination whose proof the client is to judge: of the files as they are now."""
    if any(d.state != "examined" for d in story.deliveries):
        return None
    last = story.examinations[-1:]
    return last[0] if last and last[0].proof is not None else None


def proof(desk: Desk, request: Request, link: Link) -> Response:
    """Hand out the proof of the order's latest round."""
    story = desk.book.story(link.order)
    found = proof_of(story)
    if found is None or found.proof is None:
        raise HTTPException(404, "there is no proof yet")
    name = f"{link.order}-round-{found.round}-proof.pdf"
    return attached(desk.book.store.read(found.proof), name, "application/pdf")


def picture(desk: Desk, request: Request, link: Link) -> Response:
    """Hand out a picture of the order's own art."""
    key, name = request.path_params["key"], request.path_params["name"]
    own = {
        desk.pictures.ready(piece.looks) for piece in desk.overview.pieces([link.order])[link.order]
    }
    path = desk.pictures.file(key, name) if key in own else None
    if path is None:
        raise HTTPException(404, "there is no such picture")
    return drawn(path, 3600)


def answer(desk: Desk, request: Request, link: Link, form: FormData) -> Response:
    """Record the client's answer to a finding, or to a question about the order."""
    finding, words = whole(text_of(form, "finding", 20)), text_of(form, "words", 4_000)
    if not words:
        wrong = ("Write something first.",)
        return _shown(desk, request, link, status=422, wrong=wrong)
    try:
        desk.book.answer(link.order, finding or None, words, link.for_whom)
    except BookError:
        typed = {f"answer-{finding}": words}
        return _shown(desk, request, link, status=409, wrong=(_STALE,), typed=typed)
    return desk.go(f"/c/{request.path_params['token']}", said="answered")


def sign(desk: Desk, request: Request, link: Link, form: FormData) -> Response:
    """Record the client's word on the proof that they saw."""
    names = ("name", "role", "choice", "remarks")
    typed = {name: text_of(form, name, 4_000 if name == "remarks" else 250) for name in names}
    seen, digest = whole(text_of(form, "seen", 20)), text_of(form, "proof", 64)
    story = desk.book.story(link.order)
    found = proof_of(story)
    wrong = []
    if typed["choice"] not in CHOICES:
        wrong.append("Choose one of the three.")
    if not typed["name"]:
        wrong.append("Write your name.")
    if typed["choice"] == "with-changes" and not typed["remarks"]:
        wrong.append("Write which changes.")
    if typed["choice"] == "approved" and any(f.severity == "stop" for f in story.open):
        wrong.append("Something must be corrected first; it cannot be approved as it is.")
    if wrong:
        return _shown(desk, request, link, status=422, wrong=tuple(wrong), typed=typed)
    if found is None or found.proof is None or found.proof != digest:
        return _shown(desk, request, link, status=409, wrong=(_STALE,), typed=typed)
    try:
        desk.book.sign_off(
            link.order, name=typed["name"], role=typed["role"], choice=typed["choice"],
            remarks=typed["remarks"], proof=found.proof, seen=seen, way=f"link {link.id}",
        )  # fmt: skip
    except BookError:
        return _shown(desk, request, link, status=409, wrong=(_STALE,), typed=typed)
    return desk.go(f"/c/{request.path_params['token']}", said="signed")


async def files(request: Request) -> Response:
    """Take in corrected files: they are the order's next round."""
    desk = desk_of(request)
    link = await run_in_threadpool(link_of, desk, request)
    refuse_foreign(request)
    often = f"files by link {link.id}"
    if desk.limiter.closed(often):
        raise HTTPException(429, "these are very many deliveries; wait a few minutes")
    desk.limiter.failed(often)
    return await with_files(
        desk, request, lambda fields: None, lambda received: _taken(desk, request, link, received)
    )


def _taken(desk: Desk, request: Request, link: Link, received: Received) -> Response:
    who = link.for_whom
    taken = take(desk, received.files, link.order, who, who, "by the client's page")
    said = "received" if taken.new else "again"
    return desk.go(f"/c/{request.path_params['token']}", said=said)
