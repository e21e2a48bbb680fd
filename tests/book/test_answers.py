"""A part that did not change keeps its answer, and one that did, or might have, does not."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from prepcheck.book.answers import Answers
from prepcheck.book.book import open_book
from prepcheck.book.delivering import deliver
from prepcheck.book.rounds import Ways
from prepcheck.run.answer import Answer, Task
from prepcheck.run.events import Event, Started
from prepcheck.run.examine import examine
from prepcheck.run.recall import key_of
from prepcheck.spec.load import load_spec
from tests.book.invented import job
from tests.book.placing import WHO, here


@pytest.fixture
def task(tmp_path: Path) -> Task:
    one = job(random.Random(1), sides="AB", files=True)
    path = tmp_path / "label-a.pdf"
    path.write_bytes(one.art("Label A"))
    part = one.part("Label A")
    return Task("Label A", "label-a.pdf", path, (load_spec(str(part.spec)),), "told", part)


def test_what_may_change_an_answer_changes_the_key(task: Task, tmp_path: Path) -> None:
    key = key_of(task)
    assert key is not None
    moved = tmp_path / "elsewhere.pdf"
    moved.write_bytes(task.path.read_bytes())
    assert key_of(replace(task, path=moved)) == key
    spec = task.specs[0]
    assert task.part is not None
    others = [
        replace(task, file="renamed.pdf"),
        replace(task, with_pictures=True),
        replace(task, specs=(spec.model_copy(update={"title": "Another"}),)),
        replace(task, part=task.part.model_copy(update={"expect": ("Owl Ledger",)})),
    ]
    moved.write_bytes(task.path.read_bytes() + b"\n")
    others.append(replace(task, path=moved))
    assert len({key, *map(key_of, others)}) == 1 + len(others)
    own = spec.model_copy(update={"print_condition": "house.toml"})
    assert key_of(replace(task, specs=(own,))) is None
    assert key_of(replace(task, path=tmp_path / "none.pdf")) is None


def test_what_was_altered_or_cut_off_is_not_believed(task: Task, tmp_path: Path) -> None:
    answers = Answers(tmp_path / "answers")
    assert answers.of(task) is None
    answers.keep(task, Answer(pages=(1, 2)))
    assert answers.of(task) == Answer(pages=(1, 2))
    (path,) = (tmp_path / "answers").iterdir()
    whole = path.read_bytes()
    for wrong in (whole[:-1], whole[:-1] + b"\x03", b"", b"x" * 40):
        path.write_bytes(wrong)
        assert answers.of(task) is None


def test_the_oldest_make_room(task: Task, tmp_path: Path) -> None:
    Answers(tmp_path / "one").keep(task, Answer(pages=(1, 2)))
    (sample,) = (tmp_path / "one").iterdir()
    most = 5 * sample.stat().st_size // 2
    answers = Answers(tmp_path / "answers", most_bytes=most)
    tasks = [replace(task, name=f"Label {n}") for n in range(6)]
    for one in tasks:
        answers.keep(one, Answer(pages=(1, 2)))
    held = [answers.of(one) is not None for one in tasks]
    assert held[-1]
    assert not held[0]
    assert sum(path.stat().st_size for path in (tmp_path / "answers").iterdir()) <= most


def test_of_a_second_round_only_what_changed_is_examined(tmp_path: Path) -> None:
    one = job(random.Random(4), sides="AB", files=True)
    told: list[Event] = []
    ways = Ways(
        look=here, examiner=partial(examine, pictures=False, progress=told.append), draw=False,
        recalls=True,
    )  # fmt: skip
    book = open_book(tmp_path / "book")
    book.enter(one.order, WHO)
    first, second = tmp_path / "first", tmp_path / "second"
    for folder in (first, second):
        folder.mkdir()
    for side in "AB":
        (first / f"label-{side.lower()}.pdf").write_bytes(one.art(f"Label {side}"))
    deliver(book, [first], one.number, WHO, ways)
    assert sorted(e.part for e in told if isinstance(e, Started)) == ["Label A", "Label B"]
    before = {f.check: f.part for f in book.story(one.number).findings}
    assert before
    told.clear()
    (second / "label-b.pdf").write_bytes(one.art("Label B", more=("corrected",)))
    deliver(book, [second], one.number, WHO, ways)
    assert [e.part for e in told if isinstance(e, Started)] == ["Label B"]
    story = book.story(one.number)
    assert [e.round for e in story.examinations] == [1, 2]
    kept = [f for f in story.findings if f.part == "Label A"]
    assert kept
    assert all(f.there and f.last_round == 2 for f in kept)
    assert not book.verify().faults
    book.close()
