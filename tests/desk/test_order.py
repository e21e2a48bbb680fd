"""An order's page: decisions, letters, releases, placing by hand; two people at one order."""

from __future__ import annotations

import re
from email import message_from_bytes
from email.policy import default

import pytest
from starlette.testclient import TestClient

from prepcheck.book.overview import Overview
from prepcheck.book.records import Decide, Role
from tests.desk.conftest import Room, Rounds, hidden, secret_of


def _form(page: str, finding: int) -> dict[str, str]:
    """Return the hidden fields of a finding's form, as a browser would send them."""
    found = re.search(
        rf'name="finding" value="{finding}">\s*<input type="hidden" name="stand" value="(\w+)"',
        page,
    )
    assert found is not None
    return {
        "finding": str(finding), "stand": found[1], "seen": hidden(page, "seen"),
        "secret": secret_of(page),
    }  # fmt: skip


def _decided(client: TestClient, page: str, finding: int, kind: str, why: str) -> int:
    data = {**_form(page, finding), "kind": kind, "why": why}
    answer = client.post("/order/TR-1/decide", data=data)
    return answer.status_code


def test_a_decision_is_made_where_the_finding_stands(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short stop 1"})
    client = room.person()
    page = client.get("/order/TR-1").text
    assert _decided(client, page, 1, "accept", "white edge is wanted") == 303
    decision = room.book.story("TR-1").findings[0].decision
    assert decision is not None
    assert (decision.kind, decision.why, decision.by) == (
        Decide.ACCEPT, "white edge is wanted", "Ada Fenn"
    )  # fmt: skip
    assert "white edge is wanted" in client.get("/order/TR-1").text


def test_intake_lets_no_stop_pass_and_releases_nothing(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short stop 1"})
    client = room.person("Cy Reed", Role.INTAKE)
    page = client.get("/order/TR-1").text
    data = {**_form(page, 1), "kind": "accept", "why": "it will do"}
    answer = client.post("/order/TR-1/decide", data=data)
    assert answer.status_code == 409
    assert "may not accept" in answer.text
    assert "it will do" in answer.text
    assert room.book.story("TR-1").decisions == ()


@pytest.mark.parametrize(("kind", "why"), [("", "x"), ("accept", ""), ("maybe", "x")])
def test_a_decision_without_its_kind_or_reason_is_not_made(
    room: Room, rounds: Rounds, kind: str, why: str
) -> None:
    rounds({"label-a.pdf": "bleed.short query 1"})
    client = room.person()
    assert _decided(client, client.get("/order/TR-1").text, 1, kind, why) == 409
    assert room.book.story("TR-1").decisions == ()


def test_of_two_people_at_one_finding_the_second_is_told_of_the_first(
    room: Room, rounds: Rounds
) -> None:
    rounds({"label-a.pdf": "bleed.short query 1\ntext.small query 2"})
    ada, bo = room.person("Ada Fenn"), room.person("Bo Marsh")
    hers, his = ada.get("/order/TR-1").text, bo.get("/order/TR-1").text
    assert _decided(ada, hers, 1, "accept", "the client knows") == 303
    data = {**_form(his, 1), "kind": "refuse", "why": "cut too near, I say"}
    answer = bo.post("/order/TR-1/decide", data=data)
    assert answer.status_code == 409
    assert "Ada Fenn has let it pass meanwhile: the client knows" in answer.text
    assert "cut too near, I say" in answer.text, "what he wrote is not lost"
    assert len(room.book.story("TR-1").decisions) == 1
    assert _decided(bo, his, 2, "refuse", "too small") == 303, "another finding is not hers"
    assert _decided(bo, answer.text, 1, "refuse", "cut too near, I say") == 303


def test_a_decision_on_what_another_round_has_changed_is_refused(
    room: Room, rounds: Rounds
) -> None:
    rounds({"label-a.pdf": "bleed.short query 1 first"})
    client = room.person()
    page = client.get("/order/TR-1").text
    rounds({"label-a.pdf": "bleed.short query 1 second"})
    data = {**_form(page, 1), "kind": "accept", "why": "fine"}
    answer = client.post("/order/TR-1/decide", data=data)
    assert answer.status_code == 409
    assert "has changed meanwhile" in answer.text
    rounds({"label-a.pdf": ""})
    assert "is cured since round 3" in client.post("/order/TR-1/decide", data=data).text
    assert room.book.story("TR-1").decisions == ()


def test_the_page_says_what_keeps_an_order_from_release(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short stop 1", "label-b.pdf": ""})
    client = room.person()
    page = client.get("/order/TR-1").text
    assert "Jacket: not received" in page
    assert "<button disabled>Release to plates</button>" in page
    data = {"secret": secret_of(page), "seen": hidden(page, "seen")}
    assert client.post("/order/TR-1/release", data=data).status_code == 409
    assert Overview(room.book).asked_releases() == ()


def test_a_release_is_asked_for_once_and_on_what_was_seen(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "", "label-b.pdf": "", "jacket.pdf": ""})
    client = room.person()
    page = client.get("/order/TR-1").text
    assert "Nothing is in the way." in page
    data = {"secret": secret_of(page), "seen": hidden(page, "seen")}
    room.book.answer("TR-1", None, "Leave it be", "the client")
    stale = client.post("/order/TR-1/release", data=data)
    assert stale.status_code == 409
    assert "the client: answered" in stale.text
    data["seen"] = hidden(stale.text, "seen")
    assert client.post("/order/TR-1/release", data=data).status_code == 303
    asked = Overview(room.book).asked_releases()
    assert [(one.order, one.asked_by) for one in asked] == [("TR-1", "Ada Fenn")]
    assert room.woken == ["woken"]
    assert "Asked for by Ada Fenn" in client.get("/order/TR-1").text
    intake = room.person("Cy Reed", Role.INTAKE)
    page = intake.get("/order/TR-1").text
    data = {"secret": secret_of(page), "seen": hidden(page, "seen")}
    assert intake.post("/order/TR-1/release", data=data).status_code == 409


def test_a_letter_is_read_edited_recorded_and_taken_away(room: Room, rounds: Rounds) -> None:
    client = room.person()
    assert client.get("/order/TR-1/letter").status_code == 409
    rounds({"label-a.pdf": "bleed.short stop 1"})
    page = client.get("/order/TR-1/letter").text
    assert "do this" in page.casefold(), "the letter asks for what is open"
    data = {"secret": secret_of(page), "seen": hidden(page, "seen"), "text": "Dear all,\r\nhello."}
    wrong = client.post("/order/TR-1/letter", data={**data, "to": "no address"})
    assert wrong.status_code == 422
    assert "hello." in wrong.text
    taken = client.post("/order/TR-1/letter", data={**data, "to": "a@b.test", "do": "mail"})
    assert taken.headers["content-disposition"].startswith("attachment;")
    mail = message_from_bytes(taken.content, policy=default)
    assert mail["To"] == "a@b.test"
    body = mail.get_body()
    assert body is not None
    assert body.get_content().split() == ["Dear", "all,", "hello."]
    story = room.book.story("TR-1")
    assert room.book.store.read(story.letters[0].digest) == b"Dear all,\nhello.\n"
    assert story.line.waiting_for.value == "client"
    stale = client.post("/order/TR-1/letter", data={**data, "text": "Another one"})
    assert stale.status_code == 409
    assert "Another one" in stale.text
    assert len(room.book.story("TR-1").letters) == 1


def test_questions_and_answers_stand_with_their_finding(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short query 1"})
    client = room.person()
    page = client.get("/order/TR-1").text
    assert _decided(client, page, 1, "ask", "Is the edge meant?") == 303
    page = client.get("/order/TR-1").text
    assert "Is the edge meant?" in page
    data = {"secret": secret_of(page), "finding": "1", "words": "Yes, it is", "sender": "Wil"}
    assert client.post("/order/TR-1/answer", data=data).status_code == 303
    assert "Wil: Yes, it is" in client.get("/order/TR-1").text
    empty = client.post("/order/TR-1/answer", data={**data, "sender": "", "words": "No"})
    assert empty.status_code == 422


def test_a_file_is_placed_by_hand_and_the_order_looked_at_again(room: Room, rounds: Rounds) -> None:
    rounds({"final.pdf": "", "notes.pdf": ""})
    client = room.person()
    page = client.get("/order/TR-1").text
    assert "Say which part it is" in page
    files = {file.name: file.id for file in room.book.story("TR-1").deliveries[0].files}
    data = {"secret": secret_of(page), "seen": hidden(page, "seen")}
    asked = {**data, "file": str(files["final.pdf"]), "part": "Label B"}
    assert client.post("/order/TR-1/place", data=asked).status_code == 303
    stale = client.post("/order/TR-1/place", data={**data, "file": str(files["notes.pdf"])})
    assert stale.status_code == 409
    data["seen"] = hidden(stale.text, "seen")
    none = client.post("/order/TR-1/place", data={**data, "file": str(files["notes.pdf"])})
    assert none.status_code == 303
    story = room.book.story("TR-1")
    assert [part.file for part in story.parts] == [None, "final.pdf", None]
    assert not any(file.asked for file in story.deliveries[0].files)
    assert room.woken == ["woken", "woken"]
    gone = client.post("/order/TR-1/place", data={**data, "file": "999"})
    assert gone.status_code == 409


def test_an_order_that_is_not_there_is_said_so(room: Room) -> None:
    answer = room.person().get("/order/TR-9")
    assert answer.status_code == 404
    assert "There is no order TR-9." in answer.text


TABLE = """number;client;title;catalogue;format;parts;due
A/1;Lantern Moth;Low Water;LM 1;7-inch;Label A: A; 2026-05-01
"""


def test_orders_are_entered_by_form_file_and_table(room: Room) -> None:
    client = room.person()
    secret = secret_of(client.get("/orders/new").text)
    form = {
        "secret": secret, "number": "Q-1", "client": "Lantern Moth", "title": "Low Water",
        "catalogue": "LM 2", "format": "7-inch", "discs": "1", "speed": "45", "quantity": "",
        "barcode": "", "due": "2026-05-01",
        "parts": "Label A: A, label-7in\nLabel B: B\nJacket: jacket-7in",
    }  # fmt: skip
    assert client.post("/orders/new", data=form).headers["location"] == "/order/Q-1?said=entered"
    story = room.book.story("Q-1")
    assert [(p.name, p.side) for p in story.parts] == [
        ("Label A", "A"), ("Label B", "B"), ("Jacket", None)
    ]  # fmt: skip
    again = client.post("/orders/new", data=form)
    assert again.status_code == 422
    assert "is in the book already" in again.text
    bad = client.post("/orders/new", data={**form, "number": "Q-2", "barcode": "9522014000178"})
    assert "check digit" in bad.text
    toml = '[order]\nnumber = "Q-3"\nclient = "C"\ntitle = "T"\ncatalogue = "K"\n' \
        'format = "12-inch"\n[[part]]\nname = "Label A"\nside = "A"\n'  # fmt: skip
    file = client.post("/orders/file", data={"secret": secret, "toml": toml})
    assert file.headers["location"] == "/order/Q-3?said=entered"
    outside = toml + 'spec = "/etc/passwd.toml"\n'
    refused = client.post("/orders/file", data={"secret": secret, "toml": outside})
    assert refused.status_code == 422
    assert "name one of those on the page of specs" in refused.text
    table = TABLE.replace("Label A: A;", "Label A: A;")
    many = client.post("/orders/table", data={"secret": secret, "csv": table})
    assert "1 order is entered." in client.get(many.headers["location"]).text
    assert client.get("/order/A~2f1").status_code == 200
    twice = client.post("/orders/table", data={"secret": secret, "csv": table + "B;;;;;;\n"})
    assert twice.status_code == 422
    assert "line 3:" in twice.text
