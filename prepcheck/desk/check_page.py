"""The page on which designers check a file themselves, where the plant has opened it."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from prepcheck.book.stored import from_json
from prepcheck.desk.drop import with_files
from prepcheck.desk.multipart import Received
from prepcheck.desk.order_view import PageView, places_of, value_of
from prepcheck.desk.pictures import FACTS
from prepcheck.desk.self_check import FAULT, PROOF, RESULT, Checks
from prepcheck.desk.specs_page import own_specs, shipped_specs
from prepcheck.desk.web import Desk, Endpoint, attached, desk_of, refuse_foreign
from prepcheck.errors import SpecError
from prepcheck.findings import Finding, PartResult, Result
from prepcheck.spec.model import Spec


@dataclass(frozen=True, slots=True)
class DesignerFinding:
    """A finding as a designer reads it."""

    number: int
    severity: str
    message: str
    measured: str
    required: str
    fix: str


@dataclass(frozen=True, slots=True)
class Checked:
    """A piece that was found in the file."""

    name: str
    verdict: str
    spec: str
    pages: tuple[PageView, ...]
    findings: tuple[DesignerFinding, ...]
    crashed: bool


def opened(desk: Desk) -> Checks:
    """Return the checks that are kept. Raises HTTPException where the plant offers none."""
    if not desk.settings.open_check:
        raise HTTPException(404, "there is no such page")
    return Checks(desk.book.folder / "checks", desk.settings.check_lasts)


def _offered(desk: Desk) -> dict[str, Spec]:
    """Return the pieces that can be chosen: the plant's own first."""
    own, found = own_specs(desk), {}
    for name in own.names():
        with suppress(SpecError):
            found[name] = own.load(name)
    return {**found, **shipped_specs()}


def _in_a_thread(page: object) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        answer: Response = await run_in_threadpool(page, desk_of(request), request)  # type: ignore[arg-type]
        return answer

    return endpoint


def _form(desk: Desk, request: Request) -> Response:
    opened(desk)
    return desk.show(
        "check.html", None, specs=[*_offered(desk).values()],
        most=desk.settings.check_bytes, minutes=round(desk.settings.check_lasts / 60),
    )  # fmt: skip


async def send(request: Request) -> Response:
    """Take a file in, and lead to what will be found."""
    desk = desk_of(request)
    checks = opened(desk)
    refuse_foreign(request)
    often = f"check from {request.client.host if request.client else 'nowhere'}"
    if desk.limiter.closed(often):
        raise HTTPException(429, "these are very many files; wait a few minutes")
    if await run_in_threadpool(checks.held) >= desk.settings.check_most:
        raise HTTPException(429, "very many files are being looked at; come back in a while")
    desk.limiter.failed(often)

    def allowed(fields: dict[str, str]) -> None:
        if fields.get("spec") and fields["spec"] not in _offered(desk):
            raise HTTPException(422, "choose one of the pieces that are named")

    return await with_files(desk, request, allowed, lambda came: _begun(desk, checks, came), 1)


def _begun(desk: Desk, checks: Checks, came: Received) -> Response:
    if not came.files:
        raise HTTPException(422, "choose a file first")
    (file,) = came.files
    spec = _offered(desk).get(came.fields.get("spec", ""))
    token = checks.begin(file.path, file.name, spec)
    desk.wake_check()
    return desk.go(f"/check/{token}")


def _place(desk: Desk, request: Request) -> Path:
    place = opened(desk).find(request.path_params["token"])
    if place is None:
        raise HTTPException(404, "nothing is kept here any more; send the file again")
    return place


def _result(desk: Desk, request: Request) -> Response:
    place = _place(desk, request)
    asked = json.loads((place / "asked.json").read_text())
    base = f"/check/{request.path_params['token']}"
    lines: list[str] = json.loads((place / FAULT).read_text()) if (place / FAULT).is_file() else []
    parts, proof = [], (place / PROOF).is_file()
    result = None
    if (place / RESULT).is_file():
        result = from_json(Result, (place / RESULT).read_text())
        parts = [
            _checked(desk, place, base, index, part) for index, part in enumerate(result.parts)
        ]
    return desk.show(
        "checked.html", None, called=asked["name"], base=base, parts=parts, lines=lines,
        proof=proof,
        busy=result is None and not lines, minutes=round(desk.settings.check_lasts / 60),
        verdict="" if result is None else result.verdict.value,
    )  # fmt: skip


def _checked(desk: Desk, place: Path, base: str, index: int, part: PartResult) -> Checked:
    known = json.loads((place / "parts" / str(index) / FACTS).read_text())["pages"]
    pages = []
    for number, facts in enumerate(known, 1):
        shapes = tuple(
            shape
            for one in part.every
            if one.severity.value != "note"
            for shape in places_of(one.number, one.severity.value, one, facts, number == 1)
        )
        address = desk.at(f"{base}/picture/{index}/page-{number}.jpg")
        size = facts["width"], facts["height"]
        pages.append(PageView(address, facts["face"], *size, shapes))
    spec = _offered(desk).get(part.spec or "")
    title = part.spec or "not recognised" if spec is None else spec.title
    found = sorted(part.every, key=lambda one: one.number)
    return Checked(
        part.name,
        part.verdict.value,
        title,
        tuple(pages),
        tuple(_told(f) for f in found),
        part.crashed,
    )


def _told(one: Finding) -> DesignerFinding:
    return DesignerFinding(
        one.number, one.severity.value, one.message, value_of(one, "measured"),
        value_of(one, "required"), one.fix,
    )  # fmt: skip


def _proof(desk: Desk, request: Request) -> Response:
    path = _place(desk, request) / PROOF
    if not path.is_file():
        raise HTTPException(404, "there is no proof yet")
    return attached(path.read_bytes(), "proof.pdf", "application/pdf")


def _picture(desk: Desk, request: Request) -> Response:
    part, page = request.path_params["part"], request.path_params["page"]
    path = _place(desk, request) / "parts" / str(part) / f"page-{page}.jpg"
    if not path.is_file():
        raise HTTPException(404, "there is no such picture")
    return FileResponse(path, media_type="image/jpeg")


def _end(desk: Desk, request: Request) -> Response:
    refuse_foreign(request)
    _place(desk, request)
    opened(desk).end(request.path_params["token"])
    return desk.go("/check")


form, result, proof, picture, end = (
    _in_a_thread(page) for page in (_form, _result, _proof, _picture, _end)
)
