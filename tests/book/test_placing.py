"""Deliveries find their orders and parts by what they are: a handful of the invented ones.

`python -m tests.book` tries all kinds of them, several of each.
"""

from __future__ import annotations

import random
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from prepcheck.book.book import Book, open_book
from prepcheck.book.delivering import deliver
from prepcheck.errors import BookError
from tests.book import invented, kinds
from tests.book.invented import Delivery, Job, job, nameless, piece
from tests.book.placing import WAYS, WHO, Score, tried

pytestmark = pytest.mark.usefixtures("no_pictures")


@pytest.mark.parametrize("seed", [3])
@pytest.mark.parametrize(
    "kind",
    [invented.names_mislead, invented.sides_swapped, invented.labels_in_one,
     invented.second_round, invented.others_file, invented.nothing_tells, kinds.all_at_odds,
     kinds.two_orders_in_folders, kinds.third_round, kinds.a_disc_a_file],
)  # fmt: skip
def test_every_file_is_placed_rightly_or_asked_about(
    kind: Callable[[random.Random], Delivery], seed: int, tmp_path: Path
) -> None:
    score = Score()
    delivery = kind(random.Random(f"{kind.__name__} {seed}"))
    assert delivery.files
    tried(delivery, tmp_path, score)
    assert score.lines == []


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Job, Job, Path]:
    """A ZIP of labels of two orders that names neither."""
    folder = tmp_path_factory.mktemp("two")
    rng = random.Random("two orders in one archive")
    one, other = job(rng, sides="AB", files=False), job(rng, sides="AB", files=False)
    with zipfile.ZipFile(folder / "art.zip", "w") as packed:
        for number, each in enumerate((one, other)):
            for side in "AB":
                packed.writestr(f"{number}{side}x.pdf", each.art(f"Label {side}"))
        packed.writestr("readme.txt", "As discussed")
    return folder / "art.zip", one, other, folder


def opened(folder: Path, *jobs: Job) -> Book:
    book = open_book(folder / "book")
    for each in jobs:
        book.enter(each.order, WHO)
    return book


def test_an_archive_of_two_orders_is_a_delivery_for_each(
    two: tuple[Path, Job, Job, Path], tmp_path: Path
) -> None:
    path, one, other, _ = two
    book = opened(tmp_path, one, other)
    taken = deliver(book, [path], None, WHO, WAYS)
    assert [each.order for each in taken] == [one.number, other.number]
    names = [{file.name for file in book.delivery(each.delivery).files} for each in taken]
    assert {"art.zip", "art.zip/0Ax.pdf", "art.zip/0Bx.pdf"} <= names[0]
    assert names[1] >= {"art.zip", "art.zip/1Ax.pdf", "art.zip/1Bx.pdf"}
    assert "art.zip/readme.txt" in names[0] | names[1]
    for each in (one, other):
        parts = {p.name: p.file for p in book.story(each.number).parts}
        assert str(parts["Label A"]).endswith("Ax.pdf")
        assert str(parts["Label B"]).endswith("Bx.pdf")
    assert deliver(book, [path], None, WHO, WAYS)[0].new is False
    assert not book.verify().faults
    book.close()


def test_a_page_can_be_placed_by_hand(tmp_path: Path) -> None:
    one = job(random.Random("pages"), sides="AB", files=False)
    book = opened(tmp_path, one)
    spec = one.part("Label A").spec
    assert spec is not None
    pages = [one.lines["Label B"], one.lines["Label A"]]
    (tmp_path / "labels.pdf").write_bytes(piece(spec, pages, random.Random(1)))
    told = {"labels.pdf#1": "Label A", "labels.pdf#2": "Label B"}
    deliver(book, [tmp_path / "labels.pdf"], one.number, WHO, WAYS, told=told)
    parts = {p.name: (p.page, p.why) for p in book.story(one.number).parts}
    assert parts["Label A"] == (1, "said by hand")
    assert parts["Label B"] == (2, "said by hand")
    # The very same again, with another answer.
    deliver(book, [tmp_path / "labels.pdf"], one.number, WHO, WAYS,
            told={"labels.pdf#2": "Label A", "labels.pdf#1": "Label B"})  # fmt: skip
    assert [p.page for p in book.story(one.number).parts if p.side] == [2, 1]
    assert len(book.story(one.number).deliveries) == 1
    with pytest.raises(BookError, match=r"has no file 'label\.pdf#1'; did you mean"):
        deliver(book, [tmp_path / "labels.pdf"], one.number, WHO, WAYS,
                told={"label.pdf#1": "Label A"})  # fmt: skip
    book.close()


def test_art_of_a_wrong_size_is_still_what_the_order_calls_it(tmp_path: Path) -> None:
    """A 12-inch label drawn as large as a 7-inch one: its check is to say so."""
    one = next(
        each for each in (job(random.Random(n), sides="AB", files=True) for n in range(50))
        if each.order.head.format == "12-inch"
    )  # fmt: skip
    book = opened(tmp_path, one)
    small = piece("label-7in", [one.lines["Label A"]], random.Random(1))
    (tmp_path / "label-a.pdf").write_bytes(small)
    (taken,) = deliver(book, [tmp_path / "label-a.pdf"], one.number, WHO, WAYS)
    (file,) = book.delivery(taken.delivery).files
    assert file.parts == ("Label A",)
    book.close()


def test_the_bytes_of_one_part_under_the_name_of_another_are_asked_about(tmp_path: Path) -> None:
    one = job(random.Random("names"), sides="AB", files=True)
    book = opened(tmp_path, one)
    first, again = tmp_path / "first", tmp_path / "again"
    for folder in (first, again):
        folder.mkdir()
    for side in "ab":
        (first / f"label-{side}.pdf").write_bytes(one.art(f"Label {side.upper()}"))
    deliver(book, [first], one.number, WHO, WAYS)
    (again / "label-a.pdf").write_bytes((first / "label-b.pdf").read_bytes())
    (taken,) = deliver(book, [again], one.number, WHO, WAYS)
    (file,) = book.delivery(taken.delivery).files
    assert file.asked
    assert "may be Label B or Label A" in file.note
    book.close()


def test_another_order_of_the_record_tells_what_a_file_is(tmp_path: Path) -> None:
    """Outlined labels without a telling name, known from the first pressing."""
    rng = random.Random("a second pressing")
    one = job(rng, sides="AB", files=False)
    head = one.order.head.replaced(number="P-10001")
    again = Job(one.order.__class__(head, one.order.parts), one.titles, rng, one.lines)
    book = opened(tmp_path, one, again)
    data = {side: one.art(f"Label {side}", quiet=True) for side in "AB"}
    first, second = tmp_path / "first", tmp_path / "second"
    for folder, names in ((first, "side {}.pdf"), (second, "")):
        folder.mkdir()
        for side in "AB":
            (folder / (names.format(side) or nameless(rng))).write_bytes(data[side])
    deliver(book, [first], one.number, WHO, WAYS)
    deliver(book, [second], "P-10001", WHO, WAYS)
    digests = [{p.name: p.digest for p in book.story(n).parts} for n in (one.number, "P-10001")]
    assert digests[0] == digests[1]
    why = {p.name: p.why for p in book.story("P-10001").parts}["Label A"]
    assert f"the very bytes of this part in order {one.number}" in str(why)
    book.close()
