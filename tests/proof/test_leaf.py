"""Blocks flow through columns and pages in order, level at the end, headings never alone."""

from prepcheck.proof.leaf import (
    GRID,
    Block,
    Column,
    columns,
    flow,
    on_grid,
)
from prepcheck.proof.pen import Pen
from prepcheck.proof.theme import A3_ACROSS, A4_UPRIGHT


class Slab(Block):
    def __init__(self, height: float, keep: bool = False, before: float = 0.0) -> None:
        self.height, self.keep, self.before = height, keep, before

    def draw(self, pen: Pen, x: float, y: float) -> None:
        raise NotImplementedError


ONE = [Column(50.0, 100.0, 400.0, 200.0)]
THREE = [Column(50.0 + 220.0 * i, 100.0, 400.0, 200.0) for i in range(3)]


def test_blocks_stand_under_each_other_and_go_on_over_pages() -> None:
    slabs = [Slab(120.0) for _ in range(5)]
    pages = flow(slabs, ONE, ONE)
    assert [[placed.y for placed in page] for page in pages] == [[100, 220], [100, 220], [100]]
    assert [placed.block for page in pages for placed in page] == slabs


def test_a_heading_goes_on_with_what_follows_it() -> None:
    pages = flow([Slab(250.0), Slab(30.0, keep=True), Slab(60.0)], ONE, ONE)
    assert [len(page) for page in pages] == [1, 2]


def test_room_above_a_heading_is_left_out_at_the_top_of_a_column() -> None:
    pages = flow([Slab(30.0, before=15.0), Slab(30.0, before=15.0)], ONE, ONE)
    assert [placed.y for placed in pages[0]] == [100.0, 145.0]


def test_the_last_page_is_levelled_over_its_columns() -> None:
    pages = flow([Slab(60.0) for _ in range(6)], THREE, THREE)
    assert len(pages) == 1
    assert [(placed.x, placed.y) for placed in pages[0]] == [
        (x, y) for x in (50.0, 270.0, 490.0) for y in (100.0, 160.0)
    ]


def test_levelling_does_not_part_a_heading_from_what_follows_it() -> None:
    (page,) = flow([Slab(30.0, keep=True), Slab(60.0)], THREE, THREE)
    assert [(placed.x, placed.y) for placed in page] == [(50.0, 100.0), (50.0, 130.0)]


def test_a_block_taller_than_a_page_is_set_all_the_same() -> None:
    pages = flow([Slab(50.0), Slab(900.0), Slab(50.0)], ONE, ONE)
    assert [len(page) for page in pages] == [1, 1, 1]


def test_a_short_first_column_is_passed_over_for_a_taller_one() -> None:
    short = [Column(50.0, 350.0, 400.0, 200.0)]
    assert [len(page) for page in flow([Slab(120.0)], short, ONE)] == [0, 1]


def test_columns_fill_the_measure_and_stand_on_the_grid() -> None:
    for paper, count in ((A4_UPRIGHT, 1), (A3_ACROSS, 3)):
        rooms = columns(paper)
        assert len(rooms) == count
        assert abs(rooms[-1].x + rooms[-1].width - paper.right) < 1e-6
        assert rooms[0].top % GRID == 0
    assert on_grid(100.2) == 102.0
    assert on_grid(102.0) == 102.0
