"""An order's page, and what is done there: decisions, questions, releases, links for the client."""

from __future__ import annotations

import json
from datetime import timedelta

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from prepcheck.book.access import Visit
from prepcheck.book.deliveries import TakenAs
from prepcheck.book.records import Decide, Story
from prepcheck.book.releases import obstacles
from prepcheck.desk.order_view import latest, parts_view, rounds_view, since
from prepcheck.desk.web import (
    Desk,
    attached,
    drawn,
    number_in,
    saved_as,
    story_of,
    text_of,
    told_by,
    whole,
)
from prepcheck.errors import BookError

_DONE = {
    "entered": "The order is entered.",
    "decided": "Your decision is recorded.",
    "asked": "Your question is recorded; it goes into the letter and onto the client's page.",
    "answered": "The client's answer is recorded.",
    "letter": "The letter is recorded; the order waits for the client.",
    "release": "The release is asked for. It is looked over once more and written; see below.",
    "placed": "Recorded. The order is examined again.",
    "received": "Received. It is matched and examined now.",
    "again": "These very files came before; nothing new was recorded.",
    "given": "The delivery is given to this order, and examined now.",
    "revoked": "The link is closed.",
}


def order(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show an order."""
    story = story_of(desk, number_in(request))
    said = _DONE.get(request.query_params.get("said", ""), "")
    return shown(desk, visit, story, said=said)


def shown(
    desk: Desk,
    visit: Visit,
    story: Story,
    *,
    status: int = 200,
    said: str = "",
    wrong: list[str] | None = None,
    typed: dict[int, tuple[str, str]] | None = None,
    link: str = "",
) -> Response:
    """Return an order's page. `typed` is what somebody wrote that could not be recorded, by the
    finding's number (0 for the order): kind and words."""
    stops = against = obstacles(story)
    may = visit.person.role.may_pass_stops
    if not may:
        against = (f"you are {visit.person.name} (intake): an approver releases", *against)
    number = story.line.number
    released = bool(story.releases) and story.releases[-1].round == story.line.round
    asked = desk.overview.asked_releases(number)
    return desk.show(
        "order.html", visit, status,
        story=story, line=story.line, head=json.loads(story.head), parts=parts_view(desk, story),
        rounds=rounds_view(story), stops=stops, besides=obstacles(story, besides=True),
        against=against, may=may, released=released,
        asked=asked[-1] if asked else None, seen=latest(story), said=said, wrong=wrong or [],
        typed=typed or {}, links=desk.access.links(number), link=link,
        busy=any(d.state != "examined" for d in story.deliveries),
        proof=next((e for e in reversed(story.examinations) if e.proof), None),
    )  # fmt: skip


def decide(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Record what somebody decided about a finding, unless it is another by now."""
    number = number_in(request)
    finding, why = whole(text_of(form, "finding", 20)), text_of(form, "why", 4_000)
    kind = text_of(form, "kind", 20)
    wrong = []
    if kind not in {one.value for one in Decide}:
        wrong.append(f"Finding {finding}: say what you decide.")
    if not why:
        wrong.append(f"Finding {finding}: a decision needs a reason, a question its words.")
    if not wrong:
        try:
            desk.book.decide(
                number, [finding], Decide(kind), why, visit.person.name,
                stands=[text_of(form, "stand", 64)], seen=whole(text_of(form, "seen", 20)),
            )  # fmt: skip
            return desk.go_to_order(number, f"f{finding}", said="decided")
        except BookError as fault:
            wrong = told_by(desk, fault)
    typed = {finding: (kind, why)}
    return shown(desk, visit, story_of(desk, number), status=409, wrong=wrong, typed=typed)


def ask(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Record a question to the client about the order."""
    number, words = number_in(request), text_of(form, "words", 4_000)
    if not words:
        story = story_of(desk, number)
        return shown(desk, visit, story, status=422, wrong=["A question needs words."],
                     typed={0: ("ask", "")})  # fmt: skip
    desk.book.ask(number, words, visit.person.name)
    return desk.go_to_order(number, "questions", said="asked")


def answer(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Record what the client answered by other ways."""
    number, words = number_in(request), text_of(form, "words", 4_000)
    finding, sender = whole(text_of(form, "finding", 20)), text_of(form, "sender", 250)
    if not words or not sender:
        wrong = ["An answer needs words, and who gave it."]
        typed = {finding: ("answer", words)}
        return shown(desk, visit, story_of(desk, number), status=422, wrong=wrong, typed=typed)
    desk.book.answer(number, finding or None, words, sender)
    return desk.go_to_order(number, f"f{finding}" if finding else "questions", said="answered")


def release(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Ask for a release, unless something keeps the order from it or has changed meanwhile."""
    number = number_in(request)
    story = story_of(desk, number)
    later = since(story, whole(text_of(form, "seen", 20)))
    if later:
        wrong = ["Not released: the order has changed since you loaded this page.", *later]
        return shown(desk, visit, story, status=409, wrong=wrong)
    against = obstacles(story)
    if against:
        return shown(desk, visit, story, status=409, wrong=["Not released.", *against])
    desk.book.may_release(visit.person.name)
    desk.overview.ask_release(number, visit.person.name)
    desk.wake()
    return desk.go_to_order(number, "release", said="release")


def place(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Say which part a file of the latest round is, or that it is none."""
    number = number_in(request)
    story = story_of(desk, number)
    file = whole(text_of(form, "file", 20))
    part = text_of(form, "part", 250)
    last = story.deliveries[-1] if story.deliveries else None
    if last is None or all(one.id != file for one in last.files):
        wrong = ["This file is not of the latest round any more; nothing was recorded."]
        return shown(desk, visit, story, status=409, wrong=wrong)
    later = since(story, whole(text_of(form, "seen", 20)))
    if later:
        wrong = ["Nothing was recorded: the order has changed since you loaded it.", *later]
        return shown(desk, visit, story, status=409, wrong=wrong)
    who = visit.person.name
    if part:
        page = whole(text_of(form, "page", 6)) or None
        by_hand = TakenAs(file, part, f"said by hand by {who}", page)
        desk.book.place(last.id, [by_hand], [], who, by_hand=True)
    else:
        desk.book.leave(file, f"for no part, said by hand by {who}", who)
    desk.wake()
    return desk.go_to_order(number, "rounds", said="placed")


def make_link(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Make a link for the client, and show it: it is kept nowhere."""
    number = number_in(request)
    story = story_of(desk, number)
    for_whom = text_of(form, "for", 250)
    days = min(max(whole(text_of(form, "days", 4), 30), 1), 365)
    if not for_whom:
        return shown(desk, visit, story, status=422, wrong=["Say whom the link is for."])
    token = desk.access.make_link(number, for_whom, timedelta(days=days), visit.person.name)
    address = f"{request.url.scheme}://{request.url.netloc}{desk.at(f'/c/{token}')}"
    return shown(desk, visit, story_of(desk, number), link=address)


def revoke_link(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Close a client's link."""
    number = number_in(request)
    desk.access.revoke_link(number, whole(text_of(form, "link", 20)), visit.person.name)
    return desk.go_to_order(number, "links", said="revoked")


def file(desk: Desk, request: Request, visit: Visit) -> Response:
    """Hand out a file of the order as it came, to be saved: never to be shown."""
    story = story_of(desk, number_in(request))
    wanted = request.path_params["file"]
    for delivery in story.deliveries:
        for one in delivery.files:
            if one.id == wanted:
                return FileResponse(
                    desk.book.path(one.digest),
                    media_type="application/octet-stream",
                    headers={"content-disposition": saved_as(one.name.rpartition("/")[2])},
                )
    raise HTTPException(404, "this order has no such file")


def proof(desk: Desk, request: Request, visit: Visit) -> Response:
    """Hand out the proof of an examination of the order."""
    story = story_of(desk, number_in(request))
    wanted = request.path_params["examination"]
    for one in story.examinations:
        if one.id == wanted and one.proof is not None:
            name = f"{story.line.number}-round-{one.round}-proof.pdf"
            return attached(desk.book.store.read(one.proof), name, "application/pdf")
    raise HTTPException(404, "there is no such proof")


def manifest(desk: Desk, request: Request, visit: Visit) -> Response:
    """Hand out the manifest of a release."""
    story = story_of(desk, number_in(request))
    wanted = request.path_params["revision"]
    for one in story.releases:
        if one.revision == wanted:
            name = f"{story.line.number}-r{wanted}-manifest.json"
            return attached(desk.book.store.read(one.manifest), name, "application/json")
    raise HTTPException(404, "there is no such release")


def picture(desk: Desk, request: Request, visit: Visit) -> Response:
    """Hand out a picture that was drawn of somebody's art."""
    path = desk.pictures.file(request.path_params["key"], request.path_params["name"])
    if path is None:
        raise HTTPException(404, "there is no such picture")
    return drawn(path, 86400)
