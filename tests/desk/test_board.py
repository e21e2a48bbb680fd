"""The board: what it shows of many orders, and how it is asked."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from prepcheck.book.orders import NewOrder
from prepcheck.book.overview import ExaminedAs, Overview
from prepcheck.book.records import Waiting
from prepcheck.desk.settings import DeskSettings
from prepcheck.order import OrderHead, OrderPart
from tests.desk.conftest import Room, Rounds, secret_of
from tests.intake.labels import label_pages


def _numbers(page: str) -> list[str]:
    return re.findall(r'<a class="number" href="[^"]*">([^<]*)</a>', page)


def _many(room: Room, count: int) -> None:
    for i in range(count):
        head = OrderHead(
            number=f"N-{i:03}", client=f"Client {i % 3}", title=f"Title {i}",
            catalogue=f"CAT {i:03}", format="12-inch",
            barcode="9522014000179" if i == 5 else None,
        )  # fmt: skip
        parts = (OrderPart(name="Label A", side="A"),)
        room.book.enter(NewOrder(head, parts, date(2026, 4, 1 + i % 28)), "test")


def test_orders_are_found_by_what_people_know_of_them(room: Room) -> None:
    _many(room, 12)
    client = room.person()
    for asked, found in (
        ({"find": "N-007"}, ["N-007"]),
        ({"find": "cat 003"}, ["N-003"]),
        ({"find": "9522014000179"}, ["N-005"]),
        ({"find": "9 522014 000179"}, ["N-005"]),
        ({"find": "Client 2", "due": "2026-04-06"}, ["N-002", "N-005"]),
        ({"find": "low fields"}, ["TR-1"]),
        ({"find": "100%"}, []),
        ({"waits": "plant"}, []),
    ):
        assert _numbers(client.get("/", params=asked).text) == found, asked


def test_the_board_is_paged_and_keeps_what_was_asked(room: Room) -> None:
    room.settings = DeskSettings(page_lines=5)
    _many(room, 12)
    client = room.person()
    first = client.get("/", params={"find": "N-0"}).text
    assert len(_numbers(first)) == 5
    onward = re.search(r'href="/\?([^"]*page=2)"', first)
    assert onward is not None
    assert "find=N-0" in onward[1]
    rest = [_numbers(client.get(f"/?find=N-0&page={page}").text) for page in (1, 2, 3, 4)]
    assert [number for page in rest for number in page] == [f"N-{i:03}" for i in range(12)]


def test_how_many_wait_for_whom_is_told(room: Room, rounds: Rounds) -> None:
    _many(room, 3)
    rounds({"label-a.pdf": "bleed.short stop 1"})
    every = {"waiting_for": None, "due_by": None, "first": 0, "most": 9}
    lines, tally, aside = Overview(room.book).page(like=None, **every)
    assert (len(lines), aside) == (4, 0)
    assert tally == {Waiting.US: 1, Waiting.CLIENT: 3, Waiting.PLANT: 0}
    for waiting, count in tally.items():
        assert len(room.book.orders(waiting_for=waiting)) == count
    # The same looked for by a text, which is done in one go.
    found, counts, _ = Overview(room.book).page(like="n-0", **{**every, "most": 2})
    assert [line.number for line in found] == ["N-000", "N-001"]
    assert counts == {Waiting.US: 0, Waiting.CLIENT: 3, Waiting.PLANT: 0}
    assert _numbers(room.person().get("/?waits=us").text) == ["TR-1"]


def test_parts_stand_with_the_gravest_that_is_open(room: Room, rounds: Rounds) -> None:
    rounds({"label-a.pdf": "bleed.short stop 1\ntext.small query 2", "label-b.pdf": ""})
    pieces = Overview(room.book).pieces(["TR-1"])["TR-1"]
    assert [(p.name, p.state) for p in pieces] == [
        ("Label A", "stop"), ("Label B", "clear"), ("Jacket", "missing")
    ]  # fmt: skip
    from prepcheck.book.records import Decide

    room.person()
    stop = next(f for f in room.book.story("TR-1").findings if f.severity == "stop")
    room.book.decide("TR-1", [stop.number], Decide.ACCEPT, "as wanted", "Ada Fenn")
    pieces = Overview(room.book).pieces(["TR-1"])["TR-1"]
    assert pieces[0].state == "query"


def test_a_part_whose_new_file_is_not_examined_yet_is_said_to_wait(
    room: Room, rounds: Rounds, tmp_path: Path
) -> None:
    from prepcheck.book.rounds import receive
    from tests.book.orders import files

    rounds({"label-a.pdf": ""})
    again = files(tmp_path / "more", {"label-a.pdf": "bleed.short stop 1"})
    delivery, _ = receive(room.book, again, "TR-1", "test")
    from prepcheck.book.matching import match
    from tests.book.orders import unseen

    story, came = room.book.story("TR-1"), room.book.delivery(delivery)
    found = match(room.book, story, came, {}, unseen)
    room.book.place(delivery, found.placed, found.unplaced, "test")
    assert Overview(room.book).pieces(["TR-1"])["TR-1"][0].state == "waiting"


def test_pictures_that_are_not_there_are_asked_for_once_examined(room: Room) -> None:
    from prepcheck.desk.pictures import Pictures, key_of

    asked: list[ExaminedAs] = []
    pictures = Pictures(room.book.folder / "pictures", asked.append)
    looks = ExaminedAs("ab" * 32, None, "label-12in", "cd" * 32)
    assert pictures.ready(None) is None
    assert pictures.ready(ExaminedAs("ab" * 32, None, None, None)) is None
    assert asked == []
    assert pictures.ready(looks) is None
    assert asked == [looks]
    place = pictures.place(key_of(looks))
    place.mkdir(parents=True)
    (place / "facts.json").write_text('{"pages": []}')
    assert pictures.ready(looks) == key_of(looks)


def test_a_delivery_without_an_order_is_given_to_one_by_hand(room: Room) -> None:
    client = room.person()
    secret = secret_of(client.get("/").text)
    came = client.post("/drop", data={"secret": secret}, files={"files": ("loose.pdf", b"art")})
    assert came.headers["location"] == "/aside"
    catalogue = room.book.story("TR-1").line.catalogue
    speaks = ("free.pdf", label_pages([[catalogue]]))
    came = client.post("/drop", data={"secret": secret}, files={"files": speaks})
    assert came.headers["location"].startswith("/order/TR-1"), "its type names the order"
    page = client.get("/aside").text
    assert "loose.pdf" in page
    data = {"delivery": str(room.book.aside()[0].id), "secret": secret}
    assert client.post("/aside", data={**data, "order": "nowhere"}).status_code == 422
    assert client.post("/aside", data={**data, "order": "TR-1"}).status_code == 303
    names = {file.name for one in room.book.story("TR-1").deliveries for file in one.files}
    assert names == {"free.pdf", "loose.pdf"}
    assert room.book.aside() == ()
    assert client.post("/aside", data={**data, "order": "TR-1"}).status_code == 409
