"""People, as an admin sees and adds them."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.book.records import Role
from prepcheck.desk.passwords import LEAST, hashed
from prepcheck.desk.web import Desk, text_of, told_by
from prepcheck.errors import PrepcheckError

_ROLES = tuple(role.value for role in Role)


def people(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show who decides, and who can log in."""
    said = "Recorded." if request.query_params.get("said") == "added" else ""
    return _shown(desk, visit, said, [], {"name": "", "role": "intake"}, 200)


def _shown(
    desk: Desk, visit: Visit, said: str, wrong: list[str], typed: dict[str, str], status: int
) -> Response:
    return desk.show(
        "people.html", visit, status,
        people=desk.book.people(), known=desk.access.with_password(), said=said, wrong=wrong,
        typed=typed, roles=_ROLES, least=LEAST,
    )  # fmt: skip


def add(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Enter a person with a role and a password."""
    name, role = text_of(form, "name", 250), text_of(form, "role", 20)
    password = form.get("password", "")
    typed = {"name": name, "role": role}
    try:
        if role not in _ROLES or not isinstance(password, str):
            return _shown(desk, visit, "", ["Choose a role."], typed, 422)
        desk.access.set_password(name, Role(role), hashed(password), visit.person.name)
    except PrepcheckError as fault:
        return _shown(desk, visit, "", told_by(desk, fault), typed, 422)
    return desk.go("/people", said="added")
