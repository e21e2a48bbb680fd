"""Checks that people outside make themselves."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from prepcheck.desk.self_check import ART, Checks, check
from prepcheck.desk.settings import DeskSettings
from prepcheck.run.examine import Examined
from prepcheck.run.gather import Batch
from prepcheck.spec.load import load_spec
from tests.book.orders import Scripted
from tests.desk.conftest import Room
from tests.factories import one_page

MARKUP = "<img src=x onerror=alert(1)>.pdf"
LABEL = one_page("0 0 0 0.4 k 0 0 103 103 re f", (103, 103))
"""A label 100 mm across whose bleed of 1.5 mm is short."""


@pytest.fixture
def open_room(room: Room) -> Room:
    room.settings = DeskSettings(open_check=True)
    return room


def _sent(room: Room, name: str, data: bytes, **fields: str) -> str:
    answer = room.browser().post("/check", data=fields, files={"files": (name, data)})
    assert answer.status_code == 303, answer.text
    where: str = answer.headers["location"]
    assert re.fullmatch(r"/check/[0-9a-f]{32}", where)
    return where


def _scripted(batch: Batch, *, by_page: bool) -> Examined:
    return Scripted()(batch)


def test_it_is_not_there_unless_the_plant_opens_it(room: Room) -> None:
    client = room.browser()
    assert client.get("/check").status_code == 404
    assert client.post("/check", files={"files": ("a.pdf", b"x")}).status_code == 404
    assert not (room.book.folder / "checks").exists()


def test_a_file_is_checked_shown_and_forgotten(open_room: Room) -> None:
    checks = Checks(open_room.book.folder / "checks", 3600.0)
    where = _sent(open_room, "my label.pdf", LABEL, spec="label-12in")
    client = open_room.browser()
    assert "being looked at" in client.get(where).text
    (place,) = checks.waiting()
    check(place)
    assert not (place / ART).exists(), "the file is gone once it was looked at"
    page = client.get(where).text
    assert "my label.pdf" in page
    assert re.search(r"1\.5 mm past the\s+trim", page)
    assert "must be corrected" in page
    assert load_spec("label-12in").title in page
    pictures = re.findall(r'<image href="([^"]+)"', page)
    assert [client.get(one).headers["content-type"] for one in pictures] == ["image/jpeg"]
    proof = client.get(f"{where}/proof")
    assert proof.content.startswith(b"%PDF-")
    assert proof.headers["content-disposition"].startswith("attachment")
    assert open_room.book.aside() == (), "the book knows nothing of it"
    later = replace(checks, clock=lambda: checks.clock() + 3601.0)
    assert later.find(where.rpartition("/")[2]) is None
    later.sweep()
    assert list(checks.folder.iterdir()) == []
    for path in (where, f"{where}/proof", pictures[0]):
        assert client.get(path).status_code == 404


def test_what_cannot_be_told_is_said_in_a_line(open_room: Room) -> None:
    where = _sent(open_room, "odd.pdf", one_page("", (333, 222)))
    (place,) = Checks(open_room.book.folder / "checks", 3600.0).waiting()
    check(place)
    page = open_room.browser().get(where).text
    assert 'role="alert"' in page
    assert "--spec" not in page
    assert str(open_room.book.folder) not in page


def test_names_are_text_and_no_path(open_room: Room) -> None:
    where = _sent(open_room, f"../../{MARKUP}", b"bleed.short stop 1 <b>x</b>", spec="label-12in")
    (place,) = Checks(open_room.book.folder / "checks", 3600.0).waiting()
    assert place.parent == open_room.book.folder / "checks"
    check(place, examiner=_scripted)
    page = open_room.browser().get(where).text
    assert "&lt;img src=x onerror=alert(1)&gt;.pdf" in page
    assert "<img src=x" not in page
    assert "<b>x</b>" not in page
    for path in ("/check/..%2f..%2fbook.key", f"{where}/picture/0/page-..%2f.jpg",
                 f"/check/{'0' * 32}", f"{where}/picture/0/page-9.jpg", f"{where}x"):  # fmt: skip
        assert open_room.browser().get(path).status_code == 404, path


def test_what_was_not_judged_whole_is_not_said_to_be_clear(open_room: Room) -> None:
    where = _sent(open_room, "a.pdf", b"text.small crashed", spec="label-12in")
    (place,) = Checks(open_room.book.folder / "checks", 3600.0).waiting()
    check(place, examiner=_scripted)
    page = open_room.browser().get(where).text
    assert "A check of ours failed" in page
    assert "Nothing was found" not in page
    assert ">clear<" not in page


def test_it_can_be_taken_away_at_once_and_by_its_own_page_alone(open_room: Room) -> None:
    where = _sent(open_room, "a.pdf", b"x")
    foreign = {"sec-fetch-site": "cross-site"}
    client = open_room.browser()
    assert client.post(f"{where}/end", headers=foreign).status_code == 403
    sent = client.post("/check", files={"files": ("a.pdf", b"x")}, headers=foreign)
    assert sent.status_code == 403
    assert client.post(f"{where}/end").status_code == 303
    assert list((open_room.book.folder / "checks").iterdir()) == []


def test_too_much_too_often_and_too_many_are_refused(room: Room, tmp_path: Path) -> None:
    room.settings = DeskSettings(open_check=True, check_bytes=5_000, tries=2, check_most=4)
    client = room.browser()
    assert client.post("/check", files={"files": ("a.pdf", b"x" * 9_000)}).status_code == 413
    two = [("files", ("a.pdf", b"x")), ("files", ("b.pdf", b"x"))]
    assert client.post("/check", files=two).status_code == 413
    assert (
        client.post("/check", data={"spec": "../x"}, files={"files": ("a", b"x")}).status_code
        == 422
    )
    assert client.post("/check", files={"files": ("a.pdf", b"x")}).status_code == 429
    for _ in range(2):
        other = room.browser()  # a desk of its own counts anew
        for _ in range(2):
            _ = other.post("/check", files={"files": ("a.pdf", b"x")})
    assert room.browser().post("/check", files={"files": ("a.pdf", b"x")}).status_code == 429
    assert len(list((room.book.folder / "checks").iterdir())) == 4
    assert list((room.book.folder / "arriving").iterdir()) == []
