"""What is done beside the pages: examined, released, drawn."""

from __future__ import annotations

import json
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from prepcheck.book.overview import ExaminedAs, Overview
from prepcheck.book.rounds import Ways, receive
from prepcheck.desk.background import Examiner, Opening, draw
from prepcheck.desk.children import Taker
from prepcheck.desk.pictures import Pictures, key_of
from prepcheck.desk.taking import Given
from prepcheck.errors import BookError
from prepcheck.intake.unpack import Delivered
from prepcheck.run.examine import Examined
from prepcheck.run.gather import Batch
from prepcheck.spec.load import load_spec, resolved_toml
from tests.book.orders import Scripted, files, unseen
from tests.desk.conftest import Room

ART = Path(__file__).parents[2] / "sample_art"


def test_what_waits_is_examined_and_released_as_asked(room: Room, tmp_path: Path) -> None:
    room.person()
    texts = {"label-a.pdf": "", "label-b.pdf": "", "jacket.pdf": ""}
    receive(room.book, files(tmp_path / "came", texts), "TR-1", "test")
    examiner = Examiner(room.book, Ways(look=unseen, examiner=Scripted()), tmp_path / "out")
    assert [gone.order for gone in examiner.look()] == ["TR-1"]
    assert room.book.unfinished() == ()
    assert examiner.look() == ()
    Overview(room.book).ask_release("TR-1", "Ada Fenn")
    examiner.look()
    (asked,) = Overview(room.book).asked_releases("TR-1")
    assert asked.said == ("released as revision 1",)
    assert (tmp_path / "out" / "TR-1-r1" / "manifest.json").is_file()
    assert room.book.verify().faults == ()


def test_what_fails_is_tried_again_only_when_something_has_happened(
    room: Room, tmp_path: Path
) -> None:
    tries = []

    def fails(batch: Batch) -> Examined:
        tries.append(batch)
        raise ZeroDivisionError("ours")

    receive(room.book, files(tmp_path / "came", {"label-a.pdf": ""}), "TR-1", "test")
    examiner = Examiner(room.book, Ways(look=unseen, examiner=fails), tmp_path / "out")
    for _ in range(3):
        examiner.look()
    assert len(tries) == 1
    assert "prepcheck itself failed" in room.book.story("TR-1").line.waiting_why
    room.book.ask("TR-1", "Anything new?", _person(room))
    examiner.look()
    assert len(tries) == 2


def _person(room: Room) -> str:
    room.person()
    return "Ada Fenn"


def test_a_part_is_drawn_small_and_large_with_its_lines(room: Room) -> None:
    """The label's diameter is what its spec and its order file say: truth by construction."""
    art = room.book.keep(ART / "clear" / "label-a.pdf")
    spec = load_spec("label-12in")
    kept = room.book.store.keep_bytes(resolved_toml(spec).encode())
    pictures = Pictures(room.book.folder / "pictures", lambda looks: None)
    looks = ExaminedAs(art.digest, 1, spec.name, kept.digest)
    assert draw(room.book, pictures, looks)
    facts = pictures.facts(key_of(looks))["pages"][0]
    page = pictures.file(key_of(looks), "page-1.jpg")
    small = pictures.file(key_of(looks), "small.jpg")
    assert page is not None
    assert small is not None
    with Image.open(page) as picture:
        assert picture.size == (facts["width"], facts["height"])
    with Image.open(small) as picture:
        assert max(picture.size) <= 241
    across = facts["width"] * facts["pitch_mm"]
    assert abs(facts["left_mm"] + across / 2) < 0.2
    ((x, y, radius),) = facts["lines"]["trim"]
    assert (x, y, 2 * radius) == (0.0, 0.0, spec.outline.diameter_mm)  # type: ignore[union-attr]
    assert [p.name for p in (pictures.folder / "aside").iterdir()] == []


def test_what_cannot_be_drawn_is_noted_and_not_tried_again(room: Room) -> None:
    art = room.book.store.keep_bytes(b"%PDF-1.7 no more than that")
    kept = room.book.store.keep_bytes(resolved_toml(load_spec("label-12in")).encode())
    asked: list[ExaminedAs] = []
    pictures = Pictures(room.book.folder / "pictures", asked.append)
    looks = ExaminedAs(art.digest, None, "label-12in", kept.digest)
    assert not draw(room.book, pictures, looks)
    assert pictures.ready(looks) is None
    assert asked == []
    assert json.dumps([p.name for p in pictures.place(key_of(looks)).iterdir()]) == '["failed.txt"]'


def test_what_is_much_work_is_taken_in_by_a_process_of_its_own(room: Room, tmp_path: Path) -> None:
    """And when that dies, nothing is recorded, and the next is taken in by another."""
    packed = tmp_path / "0"
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("label-b.pdf", b"B")
    given = Given((Delivered("all.zip", packed),), "TR-1", "Ada Fenn", None, "at the desk")
    assert given.is_work
    assert not replace(given, files=(Delivered("a.pdf", ART / "clear" / "label-a.pdf"),)).is_work
    place = room.book.folder
    taker = Taker(Opening(str(place), None, tmp_path / "out"))
    try:
        (taken,) = taker.ask(given)
        assert (taken.order, taken.new) == ("TR-1", True)
        names = [file.name for file in room.book.story("TR-1").deliveries[0].files]
        assert names == ["all.zip", "all.zip/label-b.pdf"]
        taker.end()
        with pytest.raises(BookError, match="nothing was recorded"):
            taker.ask(given)
        with pytest.raises(BookError, match="there is no file"):
            taker.ask(replace(given, files=()))
    finally:
        taker.end()
