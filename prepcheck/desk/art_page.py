"""The art of one part, large: pictures, lines and findings for the viewer."""

from __future__ import annotations

from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from prepcheck.book.access import Visit
from prepcheck.book.overview import Looks
from prepcheck.book.plain import from_json
from prepcheck.book.records import PartLine, Story
from prepcheck.desk.order_view import PartView, parts_view
from prepcheck.desk.web import Desk, number_in, story_of, whole
from prepcheck.findings import Finding, Mark

_MOST_PLACES = 200


def art(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show the viewer; without script the pictures stand there by themselves."""
    story, part, _ = _asked(desk, request)
    view = next(one for one in parts_view(desk, story) if _is(one, part))
    number = request.path_params["part"]
    return desk.show(
        "art.html", visit, line=story.line, part=view, number=number, parts=story.parts
    )


def _is(view: PartView, part: PartLine) -> bool:
    return view.name == part.name and view.anchor != "part-0"


def facts(desk: Desk, request: Request, visit: Visit) -> Response:
    """Return what the viewer must know, as JSON; `tiles` is null while they are being cut.

    `?before=1` asks for what the part was before it became what it is now, 2 for what it was before
    that; nothing is found there.
    """
    story, part, looks = _asked(desk, request)
    earlier = desk.overview.earlier(story.line.number, part.name)
    before = whole(request.query_params.get("before"))
    if before > len(earlier):
        raise HTTPException(404, "this part was never anything before that")
    if before:
        looks = earlier[before - 1][1]
    key = desk.pictures.ready(looks)
    if key is None or looks is None:
        return JSONResponse({"ready": False})
    tiles = desk.pictures.tiles(looks)
    here = request.url.path.removeprefix(desk.settings.prefix)
    pages = desk.pictures.facts(key)["pages"]
    return JSONResponse(
        {
            "ready": True,
            "pictures": desk.at(f"/picture/{key}/"),
            "pages": pages,
            "tiles": None if tiles is None else tiles["pages"],
            "findings": [] if before else _findings(story, part),
            "earlier": [] if before else [
                {"round": round_, "facts": f"{desk.at(here)}?before={index}"}
                for index, (round_, one) in enumerate(earlier, 1)
                if one.spec_digest is not None
            ],
        }
    )  # fmt: skip


def _asked(desk: Desk, request: Request) -> tuple[Story, PartLine, Looks | None]:
    number = number_in(request)
    story = story_of(desk, number)
    index = request.path_params["part"]
    if not 1 <= index <= len(story.parts):
        raise HTTPException(404, "this order has no such part")
    pieces = desk.overview.pieces([number])[number]
    return story, story.parts[index - 1], pieces[index - 1].looks


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
