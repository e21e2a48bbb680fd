"""Specs to read, each limit with its source, and their templates to take away."""

from __future__ import annotations

import tempfile
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.desk.web import Desk, attached
from prepcheck.spec.load import load_spec, resolved_toml, spec_names
from prepcheck.spec.model import Spec


def specs(desk: Desk, request: Request, visit: Visit) -> Response:
    """List the specs."""
    return desk.show("specs.html", visit, specs=[load_spec(name) for name in spec_names()])


def spec(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show a spec: its limits with their sources, and the whole of it as TOML."""
    found = _named(request)
    limits = [(key, value, found.source_of(key)) for key, value in _limits(found)]
    return desk.show("spec.html", visit, spec=found, limits=limits, toml=resolved_toml(found))


def template(desk: Desk, request: Request, visit: Visit) -> Response:
    """Hand out the drawing of a spec (PDF)."""
    from prepcheck.template.write import write_templates

    found = _named(request)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / f"{found.name}.pdf"
        write_templates([found.name], out, "pdf")
        return attached(out.read_bytes(), f"{found.name}-template.pdf", "application/pdf")


def _named(request: Request) -> Spec:
    name = request.path_params["name"]
    if name not in spec_names():
        raise HTTPException(404, "there is no such spec")
    return load_spec(name)


def _limits(found: Spec) -> list[tuple[str, str]]:
    """Return the keys that have a source of their own, each with what it says."""
    limits = []
    for key in sorted(found.sources):
        value: object = found
        for step in key.split("."):
            value = getattr(value, step, None)
        if isinstance(value, bool | int | float | str):
            limits.append((key, f"{value:g}" if isinstance(value, float) else str(value)))
        elif value is not None:
            limits.append((key, ""))
    return limits
