"""What other programs ask the desk."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from starlette.testclient import TestClient

from prepcheck.book.access import Access
from prepcheck.book.rounds import Ways, carry_on
from prepcheck.desk.app import _routes
from prepcheck.desk.assets import read_assets
from prepcheck.desk.openapi import description
from tests.book.orders import Scripted
from tests.desk.conftest import Room, Rounds

NEW: dict[str, Any] = {
    "order": {
        "number": "M-1", "client": "Lantern Moth", "title": "Low Water", "catalogue": "LM 1",
        "format": "12-inch",
    },
    "part": [{"name": "Label A", "side": "A", "file": "label-a.pdf"}],
    "due": "2026-05-01",
}  # fmt: skip


def _program(room: Room) -> TestClient:
    token = Access(room.book).add_program("press room", "test")
    return room.browser(authorization=f"Bearer {token}")


def _holds(name: str, value: object) -> None:
    """Hold an answer to what the description says of it (JSON Schema 2020-12)."""
    api = description("")
    schema = {**api["components"]["schemas"][name], "components": api["components"]}
    Draft202012Validator(schema).validate(value)


def test_an_order_goes_its_way_by_program_alone(room: Room) -> None:
    program = _program(room)
    made = program.post("/api/v1/orders", json=NEW)
    assert made.status_code == 201
    _holds("Order", made.json())
    assert (made.json()["verdict"], made.json()["missing"]) == (None, ["Label A"])
    for path in ("report", "proof"):
        assert program.get(f"/api/v1/orders/M-1/{path}").status_code == 404
    sent = program.post(
        "/api/v1/orders/M-1/files", data={"sender": "Wil"},
        files={"files": ("label-a.pdf", b"bleed.short stop 1")},
    )  # fmt: skip
    assert sent.status_code == 202
    _holds("Taken", sent.json())
    assert room.woken == ["woken"]
    assert program.get("/api/v1/orders/M-1").json()["examined"] is False
    carry_on(room.book, "desk", Ways(examiner=Scripted()))
    stands = program.get("/api/v1/orders/M-1").json()
    _holds("Order", stands)
    assert (stands["verdict"], stands["parts"][0]["state"]) == ("stop", "stop")
    assert stands["open"][0]["check"] == "bleed.short"
    assert program.get("/api/v1/orders/M-1/report").json()["schema"] == "prepcheck-report/1"
    assert program.get("/api/v1/orders/M-1/proof").content.startswith(b"%PDF-")
    board = program.get("/api/v1/orders", params={"find": "moth"}).json()
    _holds("Board", board)
    assert [one["number"] for one in board["orders"]] == ["M-1"]
    entry = next(e for e in room.book.journal() if e.order == "M-1")
    assert (entry.act, entry.who) == ("order entered", "press room")


@pytest.mark.parametrize(
    "header", [None, "", "Bearer ", "Bearer x", f"Bearer {'0' * 64}", "Basic x"]
)
def test_without_a_token_nothing_is_told(room: Room, rounds: Rounds, header: str | None) -> None:
    rounds({"label-a.pdf": ""})
    headers = {} if header is None else {"authorization": header}
    client = room.browser(**headers)
    for path in ("", "/TR-1", "/TR-1/report", "/TR-1/proof", "/none"):
        answer = client.get(f"/api/v1/orders{path}")
        assert answer.status_code == 401
        assert "TR-1" not in answer.text
    assert client.post("/api/v1/orders", json=NEW).status_code == 401
    sent = client.post("/api/v1/orders/TR-1/files", files={"files": ("a.pdf", b"x")})
    assert sent.status_code == 401
    assert len(room.book.orders()) == 1


def test_a_session_in_the_browser_is_no_token_and_a_token_no_session(room: Room) -> None:
    assert room.person().get("/api/v1/orders").status_code == 401
    assert _program(room).get("/").status_code == 303


def test_a_revoked_token_opens_nothing(room: Room) -> None:
    program = _program(room)
    assert program.get("/api/v1/orders").status_code == 200
    Access(room.book).revoke_program("press room", "test")
    assert program.get("/api/v1/orders").status_code == 401


def test_guessing_tokens_is_stopped(room: Room) -> None:
    client = room.browser()
    answers = [client.get("/api/v1/orders").status_code for _ in range(room.settings.tries + 1)]
    assert answers[-2:] == [401, 429]


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"{", 400), (b"[]", 422), (b"{}", 422), (b"[" * 100_000, 400), (b"\xff", 400),
        (json.dumps({**NEW, "due": 7}).encode(), 422),
        (json.dumps({**NEW, "part": [{"name": "A", "spec": "/etc/x.toml"}]}).encode(), 422),
        (json.dumps({**NEW, "part": [{"name": "A", "file": "../../etc/passwd"}]}).encode(), 422),
        (json.dumps({**NEW, "order": {**NEW["order"], "number": "TR-1"}}).encode(), 409),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_as_json_without_the_inside(
    room: Room, body: bytes, status: int
) -> None:
    answer = _program(room).post("/api/v1/orders", content=body)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/json"
    _holds("Fault", answer.json())
    assert "Traceback" not in answer.text
    assert str(Path(__file__).parents[2]) not in answer.text
    assert len(room.book.orders()) == 1


def test_the_description_says_what_is_there(room: Room) -> None:
    served = {
        (route.path.removeprefix("/api/v1"), method.lower())
        for route in _routes(read_assets())
        if route.path.startswith("/api/v1/orders")
        for method in (route.methods or set()) - {"HEAD"}
    }
    said = {(path, method) for path, acts in description("")["paths"].items() for method in acts}
    assert said == served
    client = room.browser()
    assert client.get("/api/v1/openapi.json").json() == description("/api/v1")
    assert "/orders/{order}/proof" in client.get("/api/v1/").text
