"""The art of one part, large: pictures, lines and findings for the viewer."""

from __future__ import annotations

import json
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from prepcheck.book.access import Visit
from prepcheck.book.overview import BoardPart
from prepcheck.book.records import PartLine, Story
from prepcheck.book.stored import from_json
from prepcheck.desk.addresses import step_of
from prepcheck.desk.order_view import pages_view
from prepcheck.desk.web import Desk, number_in, story_of, whole
from prepcheck.findings import Finding, Mark

_MOST_PLACES = 200


def art(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show the viewer; without script the pictures stand there by themselves.

    What the viewer must know stands in the page, and its first picture is asked for along with its
    modules, so that nobody waits for one after the other.
    """
    story, part, piece = _asked(desk, request)
    key = desk.pictures.ready(piece.looks)
    found = [f for f in story.findings if f.part == part.name]
    return desk.show(
        "art.html", visit, line=story.line, part=part, state=piece.state, parts=story.parts,
        number=request.path_params["part"],
        viewed=piece.looks is not None and not desk.pictures.given_up(piece.looks),
        pages=() if key is None else pages_view(desk, key, found, "/picture"),
        known=json.dumps(_known(desk, request, story, part, piece, 0), separators=(",", ":")),
    )  # fmt: skip


def facts(desk: Desk, request: Request, visit: Visit) -> Response:
    """Return what the viewer must know, as JSON; `tiles` is null while they are being cut.

    `?before=1` asks for what the part was before it became what it is now, 2 for what it was before
    that; nothing is found there.
    """
    before = whole(request.query_params.get("before"))
    return JSONResponse(_known(desk, request, *_asked(desk, request), before))


def _known(
    desk: Desk, request: Request, story: Story, part: PartLine, piece: BoardPart, before: int
) -> dict[str, Any]:
    looks = piece.looks
    earlier = desk.overview.earlier(story.line.number, part.name)
    if before > len(earlier):
        raise HTTPException(404, "this part was never anything before that")
    if before:
        looks = earlier[before - 1][1]
    key = desk.pictures.ready(looks)
    if key is None or looks is None:
        return {"ready": False}
    tiles = desk.pictures.tiles(looks)
    here = f"/order/{step_of(story.line.number)}/art/{request.path_params['part']}/facts"
    return {
        "ready": True,
        "pictures": desk.at(f"/picture/{key}/"),
        "pages": desk.pictures.facts(key)["pages"],
        "tiles": None if tiles is None else tiles["pages"],
        "findings": [] if before else _findings(story, part),
        "earlier": [] if before else [
            {"round": round_, "facts": f"{desk.at(here)}?before={index}"}
            for index, (round_, one) in enumerate(earlier, 1)
            if one.spec_digest is not None
        ],
    }  # fmt: skip


def _asked(desk: Desk, request: Request) -> tuple[Story, PartLine, BoardPart]:
    number = number_in(request)
    story = story_of(desk, number)
    index = request.path_params["part"]
    if not 1 <= index <= len(story.parts):
        raise HTTPException(404, "this order has no such part")
    pieces = desk.overview.pieces([number])[number]
    return story, story.parts[index - 1], pieces[index - 1]


def _findings(story: Story, part: PartLine) -> list[dict[str, Any]]:
    found = []
    for line in story.findings:
        if line.part != part.name or not line.there or not line.data:
            continue
        finding = from_json(Finding, line.data)
        found.append(
            {
                "number": line.number,
                "severity": line.severity,
                "message": line.message,
                "page": finding.page or 1,
                "places": [_place(mark) for mark in finding.where[:_MOST_PLACES]],
            }
        )
    return found


def _place(mark: Mark) -> dict[str, Any]:
    box = mark.box
    return {
        "box": [box.x0, box.y0, box.x1, box.y1],
        "path": [[p.x, p.y] for p in mark.path] if len(mark.path) > 1 else [],
    }
