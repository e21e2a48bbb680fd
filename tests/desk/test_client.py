"""The client's page: opened by a link, for one order, as it is now."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from prepcheck.book.access import Access, digest_of
from prepcheck.book.overview import Overview
from prepcheck.book.rounds import Ways, carry_on, receive
from tests.book.orders import Scripted, entered, files
from tests.desk.conftest import Room, Rounds, hidden, secret_of

ALL = {"label-a.pdf": "", "label-b.pdf": "", "jacket.pdf": ""}


def _link(room: Room, number: str = "TR-1", days: float = 30.0) -> str:
    return Access(room.book).make_link(number, "Wil of Thornreed", timedelta(days=days), "Ada Fenn")


def _round(room: Room, folder: Path, texts: dict[str, str], number: str = "TR-1") -> None:
    """Take in a round and have it examined, with its proof."""
    receive(room.book, files(folder, texts), number, "Ada Fenn")
    carry_on(room.book, "Ada Fenn", Ways(examiner=Scripted()))


def _sign(page: str, **more: str) -> dict[str, str]:
    return {
        "seen": hidden(page, "seen"), "proof": hidden(page, "proof"), "choice": "approved",
        "name": "Wil Tarn", "role": "label manager", "remarks": "", **more,
    }  # fmt: skip


def test_a_link_is_random_shown_once_and_kept_as_its_digest(room: Room) -> None:
    client = room.person()
    page = client.get("/order/TR-1").text
    made = client.post(
        "/order/TR-1/link", data={"for": "Wil", "days": "7", "secret": secret_of(page)}
    )
    found = re.search(r"http://desk\.test/c/([0-9a-f]{32})", made.text)
    assert found is not None
    token = found[1]
    assert token not in client.get("/order/TR-1").text
    with room.book.database.engine.connect() as connection:
        rows = [tuple(row) for row in connection.exec_driver_sql("SELECT * FROM link")]
        entries = [tuple(row) for row in connection.exec_driver_sql("SELECT * FROM journal")]
    assert token not in repr(rows) + repr(entries)
    assert digest_of(token) in repr(rows)
    assert room.browser().get(f"/c/{token}").status_code == 200
    assert len({_link(room) for _ in range(50)}) == 50


def test_a_link_closes_by_itself_or_by_hand(room: Room) -> None:
    client = room.person()
    short, revoked = _link(room, days=0.0005), _link(room)
    secret = secret_of(client.get("/order/TR-1").text)
    number = str(Access(room.book).links("TR-1")[1].id)
    assert room.browser().get(f"/c/{short}").status_code == 404
    assert room.browser().get(f"/c/{revoked}").status_code == 200
    client.post("/order/TR-1/unlink", data={"link": number, "secret": secret})
    for path in ("", "/proof"):
        assert room.browser().get(f"/c/{revoked}{path}").status_code == 404
    entered(room.book, "TR-2")
    theirs = client.post("/order/TR-2/unlink", data={"link": number, "secret": secret})
    assert theirs.status_code == 409


def test_guessing_links_is_stopped(room: Room) -> None:
    client, real = room.browser(), _link(room)
    for number in range(room.settings.tries):
        assert client.get(f"/c/{number:032x}").status_code == 404
    assert client.get(f"/c/{real}").status_code == 429


@pytest.mark.parametrize("token", ["x", "..%2fnew", "A" * 32, "0" * 31, "0" * 33, "%00" * 32])
def test_what_is_no_link_opens_nothing(room: Room, token: str) -> None:
    assert room.browser().get(f"/c/{token}").status_code == 404


def test_a_link_opens_its_own_order_and_nothing_else(
    room: Room, rounds: Rounds, tmp_path: Path
) -> None:
    entered(room.book, "TR-2")
    rounds({"label-a.pdf": "bleed.short stop 1 ours-alone"})
    _round(room, tmp_path / "b", {"label-a.pdf": "bleed.short stop 1 theirs-alone"}, "TR-2")
    ours, theirs = _link(room), _link(room, "TR-2")
    client = room.browser()
    page = client.get(f"/c/{ours}").text
    assert "ours-alone" in page
    assert "theirs-alone" not in page
    for path in ("/", "/order/TR-1", "/order/TR-2", "/aside", "/specs", "/people"):
        assert client.get(path).headers.get("location", "").startswith("/login"), path
    # Their picture and their proof's digest, by our link.
    looks = Overview(room.book).pieces(["TR-2"])["TR-2"][0].looks
    assert looks is not None
    picture = f"/c/{ours}/picture/{'0' * 64}/small.jpg"
    assert client.get(picture).status_code == 404
    story = room.book.story("TR-2")
    stolen = {"seen": "99", "proof": story.examinations[0].proof or "", "choice": "file-follows",
              "name": "x", "role": "", "remarks": ""}  # fmt: skip
    assert client.post(f"/c/{ours}/sign", data=stolen).status_code == 409
    assert client.get(f"/c/{theirs}").status_code == 200
    assert room.book.story("TR-1").signoffs == room.book.story("TR-2").signoffs == ()


def test_pictures_of_other_art_are_not_handed_out(room: Room) -> None:
    """Not even by their true key: it is held to the order's own parts."""
    from prepcheck.book.overview import ExaminedAs
    from prepcheck.desk.pictures import Pictures, key_of

    pictures = Pictures(room.book.folder / "pictures", lambda looks: None)
    key = key_of(ExaminedAs("ab" * 32, None, "label-12in", "cd" * 32))
    pictures.place(key).mkdir(parents=True)
    (pictures.place(key) / "small.jpg").write_bytes(b"picture")
    assert room.person().get(f"/picture/{key}/small.jpg").status_code == 200
    assert room.browser().get(f"/c/{_link(room)}/picture/{key}/small.jpg").status_code == 404
    assert room.browser().get(f"/picture/{key}/small.jpg").status_code == 303


def test_places_stand_on_the_pictures_where_they_were_found(room: Room, rounds: Rounds) -> None:
    """The scripted finding is 2 mm square with its left edge at 3 mm: worked by hand."""
    from prepcheck.desk.pictures import Pictures, key_of
    from prepcheck.spec.load import load_spec, resolved_toml

    rounds({"label-a.pdf": "bleed.short query 3\nhole.clearance stop 30"})
    looks = Overview(room.book).pieces(["TR-1"])["TR-1"][0].looks
    assert looks is not None
    if looks.spec_digest is None:  # the scripted examiner judged by no spec
        kept = room.book.store.keep_bytes(resolved_toml(load_spec("label-12in")).encode())
        with room.book.database.writing() as session:
            from sqlalchemy import text

            session.execute(text("DROP TRIGGER examined_no_update"))
            session.execute(text("UPDATE examined SET spec_digest = :d"), {"d": kept.digest})
        looks = replace(looks, spec_digest=kept.digest)
    place = Pictures(room.book.folder / "pictures", lambda looks: None).place(key_of(looks))
    place.mkdir(parents=True)
    page = {"page": 1, "face": "front", "width": 600, "height": 600, "left_mm": -60.0,
            "top_mm": 60.0, "pitch_mm": 0.2, "by": "", "lines": {}}  # fmt: skip
    (place / "facts.json").write_text(json.dumps({"pages": [page]}))
    ours = room.person().get("/order/TR-1").text
    theirs = room.browser().get(f"/c/{_link(room)}").text
    for shown in (ours, theirs):
        # 14 px at least, about the middle of the place: (4 mm, 1 mm) is pixel (320, 295).
        assert '<rect x="313.0" y="288.0" width="14.0" height="14.0">' in shown
        assert shown.count('<g class="badge query">') == 1
        assert shown.count('<g class="badge stop">') == 1


def test_the_client_reads_what_is_open_and_answers(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short query 1\ntext.small note 2"})
    client, token = room.browser(), _link(room)
    page = client.get(f"/c/{token}").text
    assert "1 point needs you" in page
    assert "text.small" not in page, "notes are the plant's"
    assert "Still to come: Label B, Jacket." in page
    data = {"finding": "1", "words": "<b>It is</b> meant so"}
    assert client.post(f"/c/{token}/answer", data=data).status_code == 303
    page = client.get(f"/c/{token}").text
    assert "&lt;b&gt;It is&lt;/b&gt; meant so" in page
    (question,) = room.book.story("TR-1").questions
    assert (question.finding, question.answered_by) == (1, "Wil of Thornreed")
    unknown = client.post(f"/c/{token}/answer", data={"finding": "77", "words": "kept words"})
    assert unknown.status_code == 409
    assert client.post(f"/c/{token}/answer", data={"finding": "1"}).status_code == 422


def test_corrected_files_are_the_next_round(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short stop 1"})
    client, token = room.browser(), _link(room)
    sent = {"files": ("../label-a.pdf", b"corrected")}
    answer = client.post(f"/c/{token}/files", files=sent)
    assert answer.headers["location"] == f"/c/{token}?said=received"
    delivery = room.book.story("TR-1").deliveries[-1]
    assert (delivery.round, delivery.sender, delivery.way) == (
        2, "Wil of Thornreed", "by the client's page"
    )  # fmt: skip
    assert [file.name for file in delivery.files] == ["label-a.pdf"]
    assert "being looked at" in client.get(f"/c/{token}").text
    assert client.post(f"/c/{token}/files", data={"x": "y"}).status_code == 415


def test_the_clients_word_is_recorded_with_what_they_saw(room: Room, tmp_path: Path) -> None:
    _round(room, tmp_path / "a", ALL)
    client, token = room.browser(), _link(room)
    page = client.get(f"/c/{token}").text
    assert client.get(f"/c/{token}/proof").content.startswith(b"%PDF-")
    assert client.post(f"/c/{token}/sign", data=_sign(page)).status_code == 303
    story = room.book.story("TR-1")
    (said,) = story.signoffs
    assert (said.name, said.role, said.choice, said.round) == (
        "Wil Tarn", "label manager", "approved", 1
    )  # fmt: skip
    assert said.proof == story.examinations[-1].proof
    entry = story.journal[-1]
    assert (entry.act, entry.who) == ("signed off", "Wil Tarn")
    assert said.proof in entry.data
    assert '"way":"link 1"' in entry.data
    assert room.book.verify().faults == ()
    # The same form once more, word for word.
    again = client.post(f"/c/{token}/sign", data=_sign(page))
    assert again.status_code == 409
    assert len(room.book.story("TR-1").signoffs) == 1


def test_a_word_on_what_has_changed_is_refused_and_kept_for_them(
    room: Room, tmp_path: Path
) -> None:
    _round(room, tmp_path / "a", ALL)
    client, token = room.browser(), _link(room)
    page = client.get(f"/c/{token}").text
    _round(room, tmp_path / "b", {"label-a.pdf": "text.small query 1"})
    stale = client.post(f"/c/{token}/sign", data=_sign(page, remarks="Lovely work"))
    assert stale.status_code == 409
    assert "something has changed since you opened this page" in stale.text
    assert "Lovely work" in stale.text
    assert "Wil Tarn" in stale.text
    assert room.book.story("TR-1").signoffs == ()
    # On the proof as it is, but on words that another has written meanwhile.
    page = client.get(f"/c/{token}").text
    room.person()
    room.book.ask("TR-1", "Which sleeve?", "Ada Fenn")
    assert client.post(f"/c/{token}/sign", data=_sign(page)).status_code == 409


@pytest.mark.parametrize(
    "wrong", [{"choice": "maybe"}, {"choice": ""}, {"name": ""}, {"choice": "with-changes"}]
)
def test_a_word_that_says_too_little_is_not_recorded(
    room: Room, tmp_path: Path, wrong: dict[str, str]
) -> None:
    _round(room, tmp_path / "a", ALL)
    client, token = room.browser(), _link(room)
    page = client.get(f"/c/{token}").text
    assert client.post(f"/c/{token}/sign", data=_sign(page, **wrong)).status_code == 422
    assert room.book.story("TR-1").signoffs == ()


def test_what_must_be_corrected_cannot_be_approved(room: Room, tmp_path: Path) -> None:
    _round(room, tmp_path / "a", {**ALL, "label-a.pdf": "bleed.short stop 1"})
    client, token = room.browser(), _link(room)
    page = client.get(f"/c/{token}").text
    assert client.post(f"/c/{token}/sign", data=_sign(page)).status_code == 422
    follows = _sign(page, choice="file-follows")
    assert client.post(f"/c/{token}/sign", data=follows).status_code == 303
    assert room.book.story("TR-1").signoffs[0].choice == "file-follows"


def test_forms_of_the_client_are_taken_from_their_page_only(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short query 1"})
    client, token = room.browser(), _link(room)
    foreign = {"sec-fetch-site": "cross-site"}
    before = len(tuple(room.book.journal()))
    for path, sent in (
        ("answer", {"data": {"finding": "1", "words": "x"}}),
        ("sign", {"data": {"name": "x"}}),
        ("files", {"files": {"files": ("a.pdf", b"x")}}),
    ):
        answer = client.post(f"/c/{token}/{path}", headers=foreign, **sent)  # type: ignore[arg-type]
        assert answer.status_code == 403, path
    assert len(tuple(room.book.journal())) == before


def test_very_many_deliveries_are_slowed_down(room: Room) -> None:
    room.settings = replace(room.settings, tries=3)
    client, token = room.browser(), _link(room)
    sent = [
        client.post(f"/c/{token}/files", files={"files": ("a.pdf", bytes([i]))}).status_code
        for i in range(4)
    ]
    assert sent == [303, 303, 303, 429]


def test_what_was_not_judged_whole_is_not_to_be_signed_yet(room: Room, tmp_path: Path) -> None:
    _round(room, tmp_path / "came", {**ALL, "label-b.pdf": "text.small crashed"})
    page = room.browser().get(f"/c/{_link(room)}").text
    assert "please do not sign the proof before" in page
    assert "Please look at the proof" not in page
    own = room.person().get("/order/TR-1").text
    assert "A check failed on it through no fault of the file" in own
