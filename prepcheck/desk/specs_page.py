"""Specs to read, each limit with its source, the plant's own to edit, and templates of all to take
away."""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.book.records import Role
from prepcheck.desk.own_specs import FOLDER, OwnSpecs, SpecFault, digest_of
from prepcheck.desk.web import Desk, attached, text_of
from prepcheck.errors import SpecError
from prepcheck.spec.load import load_spec, resolved_toml, spec_names
from prepcheck.spec.model import Spec

_START = """extends = "label-12in"
name = "our-label"
title = "Our 12-inch label"

[clearance.hole]
wanted_mm = 5.0

[sources]
"clearance.hole.wanted_mm" = "our own drill, measured"
"""
_MOST = 200_000


def own_specs(desk: Desk) -> OwnSpecs:
    """Return the plant's own specs."""
    return OwnSpecs(desk.book.folder / FOLDER)


@functools.cache
def shipped_specs() -> dict[str, Spec]:
    """Return the specs that prepcheck brings, by name; they do not change while it runs."""
    return {name: load_spec(name) for name in spec_names()}


def specs(desk: Desk, request: Request, visit: Visit) -> Response:
    """List the specs."""
    own = own_specs(desk)
    shipped = shipped_specs().values()
    ours = [_or_none(own, name) for name in own.names()]
    return desk.show(
        "specs.html", visit, specs=shipped, own=zip(own.names(), ours, strict=True),
        may=visit.person.role is not Role.INTAKE,
    )  # fmt: skip


def _or_none(own: OwnSpecs, name: str) -> Spec | None:
    try:
        return own.load(name)
    except SpecError:  # was right when it was saved; what it extends has changed since
        return None


def spec(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show a spec: its limits with their sources, and the whole of it as TOML."""
    found = _named(desk, request)
    limits = [(key, value, found.source_of(key)) for key, value in _limits(found)]
    name = request.path_params["name"]
    ours = own_specs(desk).text(name) is not None
    return desk.show(
        "spec.html", visit, spec=found, limits=limits, toml=resolved_toml(found),
        ours=ours and visit.person.role is not Role.INTAKE,
    )  # fmt: skip


def template(desk: Desk, request: Request, visit: Visit) -> Response:
    """Hand out the drawing of a spec (PDF)."""
    from prepcheck.template.write import write_templates

    found = _named(desk, request)
    own = own_specs(desk)
    name = request.path_params["name"]
    where = name if own.text(name) is None else str(own.folder / f"{name}.toml")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / f"{found.name}.pdf"
        write_templates([where], out, "pdf")
        return attached(out.read_bytes(), f"{found.name}-template.pdf", "application/pdf")


def edit(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show one of the plant's own specs to be edited; a new one under the name 'new'."""
    name = request.path_params["name"]
    text = own_specs(desk).text(name)
    if text is None and name != "new":
        raise HTTPException(404, "there is no such spec of your own")
    return _editing(desk, visit, text or _START, digest_of(text), (), 200)


def save(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Keep a spec, or say at which lines it is wrong."""
    text = text_of(form, "toml", _MOST).replace("\r\n", "\n") + "\n"
    over = text_of(form, "over", 64)
    name, faults = own_specs(desk).save(text, over=over)
    if faults:
        return _editing(desk, visit, text, over, faults, 422)
    kept = desk.book.store.keep_bytes(text.encode())
    desk.book.note(visit.person.name, "spec saved", None, {"spec": name, "text": kept.digest})
    return desk.go(f"/specs/{name}")


def _editing(
    desk: Desk, visit: Visit, text: str, over: str, faults: tuple[SpecFault, ...], status: int
) -> Response:
    wrong = {fault.line for fault in faults}
    lines = [(n, line, n in wrong) for n, line in enumerate(text.splitlines(), 1)] if wrong else []
    return desk.show(
        "own-spec.html", visit, status, text=text, over=over, faults=faults, lines=lines
    )


def _named(desk: Desk, request: Request) -> Spec:
    name, own = request.path_params["name"], own_specs(desk)
    if name not in shipped_specs() and name not in own.names():
        raise HTTPException(404, "there is no such spec")
    return own.load(name)


def _limits(found: Spec) -> list[tuple[str, str]]:
    """Return the keys that have a source of their own, each with what it says."""
    limits: list[tuple[str, str]] = []
    for key in sorted(found.sources):
        value: object = found
        for step in key.split("."):
            value = getattr(value, step, None)
        if value is not None:
            limits.append((key, _read(value)))
    return limits


def _read(value: object) -> str:
    """Return a limit as it is read; empty for what holds others."""
    if isinstance(value, tuple):
        return ", ".join(_read(one) for one in value)
    if isinstance(value, float):
        return f"{value:g}"
    return str(value) if isinstance(value, bool | int | str) else ""
