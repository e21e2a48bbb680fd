"""Logging in and out, and what is refused."""

from __future__ import annotations

from datetime import timedelta

import pytest

from prepcheck.book.access import Access
from prepcheck.book.records import Role
from prepcheck.desk.limiter import Limiter
from prepcheck.desk.passwords import hashed, right
from prepcheck.desk.web import then_of
from prepcheck.errors import UsageError
from tests.desk.conftest import CHEAP, PASSWORD, Room, hidden, secret_of


def _known(room: Room, name: str = "Ada Fenn") -> None:
    Access(room.book).set_password(name, Role.INTAKE, hashed(PASSWORD, hasher=CHEAP), "test")


def _tried(room: Room, password: str, base: str = "http://desk.test", then: str = "/") -> object:
    client = room.browser(base)
    entry = hidden(client.get("/login").text, "entry")
    return client.post(
        "/login", data={"name": "Ada Fenn", "password": password, "entry": entry, "then": then}
    )


def test_the_right_password_begins_a_session(room: Room) -> None:
    _known(room)
    client = room.browser()
    entry = hidden(client.get("/login?then=/aside").text, "entry")
    answer = client.post(
        "/login",
        data={"name": "Ada Fenn", "password": PASSWORD, "entry": entry, "then": "/aside"},
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/aside")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "secure" not in cookie
    page = client.get("/")
    assert "Ada Fenn" in page.text
    assert [e.act for e in room.book.journal()][-1] == "logged in"


def test_cookies_go_over_https_only_where_the_desk_is_served_so(room: Room) -> None:
    _known(room)
    answer = _tried(room, PASSWORD, "https://desk.test")
    assert "; secure" in answer.headers["set-cookie"].lower()  # type: ignore[attr-defined]
    assert "strict-transport-security" in answer.headers  # type: ignore[attr-defined]


def test_a_wrong_password_is_refused_and_told_in_the_journal(room: Room) -> None:
    _known(room)
    answer = _tried(room, "not this one at all")
    assert answer.status_code == 401  # type: ignore[attr-defined]
    assert "set-cookie" in answer.headers  # type: ignore[attr-defined]
    assert "prepcheck-desk" not in answer.headers["set-cookie"]  # type: ignore[attr-defined]
    assert [e.act for e in room.book.journal()][-1] == "login refused"


def test_after_some_wrong_passwords_the_right_one_is_refused_too(room: Room) -> None:
    _known(room)
    client = room.browser()
    for _ in range(room.settings.tries):
        entry = hidden(client.get("/login").text, "entry")
        data = {"name": "Ada Fenn", "password": "wrong wrong wrong", "entry": entry}
        assert client.post("/login", data=data).status_code == 401
    entry = hidden(client.get("/login").text, "entry")
    data = {"name": "Ada Fenn", "password": PASSWORD, "entry": entry}
    assert client.post("/login", data=data).status_code == 429


def test_a_form_for_logging_in_from_elsewhere_is_refused(room: Room) -> None:
    _known(room)
    client = room.browser()
    client.get("/login")
    data = {"name": "Ada Fenn", "password": PASSWORD, "entry": "0" * 32}
    assert client.post("/login", data=data).status_code == 403


@pytest.mark.parametrize(
    "then",
    ["//elsewhere.test/", "https://elsewhere.test", "/\\elsewhere.test", "javascript:x", "/ a", ""],
)
def test_logging_in_leads_nowhere_else(then: str) -> None:
    assert then_of(then) == "/"


def test_whoever_is_not_logged_in_sees_no_page_and_comes_back_to_it(room: Room) -> None:
    answer = room.browser().get("/order/TR-1?x=1")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/login?then=%2Forder%2FTR-1%3Fx%3D1"


def test_logged_out_the_cookie_opens_nothing(room: Room) -> None:
    client = room.person()
    token = client.cookies["prepcheck-desk"]
    secret = secret_of(client.get("/").text)
    assert client.post("/logout", data={"secret": secret}).status_code == 303
    other = room.browser()
    other.cookies.set("prepcheck-desk", token)
    assert other.get("/").status_code == 303


def test_a_session_ends_by_itself(room: Room) -> None:
    room.person()
    client = room.browser()
    token = Access(room.book).log_in("Ada Fenn", timedelta(seconds=30))  # the clock goes by minutes
    client.cookies.set("prepcheck-desk", token)
    assert client.get("/").status_code == 303


def test_a_new_password_ends_what_was_begun_with_the_old(room: Room) -> None:
    client = room.person()
    assert client.get("/").status_code == 200
    _known(room)
    assert client.get("/").status_code == 303


def test_passwords_are_hashed_and_of_a_fair_length() -> None:
    known = hashed(PASSWORD, hasher=CHEAP)
    assert known.startswith("$argon2id$")
    assert PASSWORD not in known
    assert right(known, PASSWORD)
    assert not right(known, PASSWORD + " ")
    for password in ("short", "x" * 201):
        with pytest.raises(UsageError, match="10 to 200 characters"):
            hashed(password)


def test_nobody_is_let_in_by_the_hash_that_stands_for_nobody() -> None:
    assert not right(None, "")
    assert not right(None, "password")
    assert not right("no hash at all", PASSWORD)


def test_failures_are_forgotten_after_a_while_and_keys_are_not_kept_for_ever() -> None:
    now = [0.0]
    limiter = Limiter(2, 10.0, keys=3, clock=lambda: now[0])
    for _ in range(2):
        limiter.failed("a")
    assert limiter.closed("a", "b")
    assert not limiter.closed("b")
    now[0] = 11.0
    assert not limiter.closed("a")
    for key in "abcdefgh":
        limiter.failed(key)
    assert len(limiter._failed) <= 3
    limiter.failed("h")
    assert limiter.closed("h")
    limiter.succeeded("h")
    assert not limiter.closed("h")


def test_only_an_admin_adds_people(room: Room) -> None:
    approver, admin = room.person("Ada Fenn"), room.person("Bo Marsh", Role.ADMIN)
    assert approver.get("/people").status_code == 403
    page = admin.get("/people").text
    data = {"name": "Cy Reed", "role": "intake", "password": PASSWORD}
    refused = approver.post("/people", data={**data, "secret": secret_of(approver.get("/").text)})
    assert refused.status_code == 403
    short = admin.post("/people", data={**data, "password": "short", "secret": secret_of(page)})
    assert short.status_code == 422
    assert {one.name for one in room.book.people()} == {"Ada Fenn", "Bo Marsh"}
    done = admin.post("/people", data={**data, "secret": secret_of(page)})
    assert done.status_code == 303
    assert right(Access(room.book).password_of("Cy Reed"), PASSWORD)
