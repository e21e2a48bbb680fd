"""Tables are read into what their types say, and every fault is told at its place; truth by
construction."""

from __future__ import annotations

from enum import Enum
from typing import Annotated, Any, Literal

import msgspec
import pytest
from msgspec import Meta, field

from prepcheck.tables import First, MostText, Table, TableError, plain, read_table


class Colour(Enum):
    RED = "red"
    BLUE = "blue"


class Disc(Table, frozen=True, tag="disc", tag_field="kind"):
    wide: Annotated[float, Meta(gt=0, le=100)]


class Square(Table, frozen=True, tag="square", tag_field="kind"):
    side: float
    round: bool = False


def shouted(value: str) -> str:
    if not value.strip():
        raise ValueError("it is blank")
    return value.strip().upper()


class Piece(Table, frozen=True, kw_only=True):
    name: Annotated[str, First(lambda v: str(v) if v == 7 else v), MostText(5), shouted]
    count: Annotated[int, Meta(ge=1)] = 1
    shape: Disc | Square
    way: Literal["up", "down"] | None = None
    places: Annotated[tuple[float, ...], Meta(min_length=1)] = (0.0,)
    pair: tuple[int, int] | None = None
    colours: dict[str, Colour] = field(default_factory=dict)
    least: float = 0.0
    most: float = 9.0

    def __post_init__(self) -> None:
        if self.most < self.least:
            raise ValueError("most must not be smaller than least")


SOUND: dict[str, Any] = {"name": "a", "shape": {"kind": "disc", "wide": 3}}


def faults(**changes: Any) -> list[str]:
    table = {key: value for key, value in {**SOUND, **changes}.items() if value != "left out"}
    with pytest.raises(TableError) as caught:
        read_table(Piece, table)
    return [fault.words for fault in caught.value.faults]


def test_what_is_sound_becomes_what_its_types_say() -> None:
    piece = read_table(
        Piece,
        {
            **SOUND,
            "name": " b ",
            "count": "3",
            "way": "up",
            "places": [1, "2.5"],
            "pair": [1, 2.0],
            "colours": {"x": "red", "y": Colour.BLUE},
        },
    )
    assert piece == Piece(
        name="B",
        count=3,
        shape=Disc(3.0),
        way="up",
        places=(1.0, 2.5),
        pair=(1, 2),
        colours={"x": Colour.RED, "y": Colour.BLUE},
    )
    assert type(piece.places[0]) is float
    assert type(piece.pair[1] if piece.pair else None) is int
    assert read_table(Piece, {**SOUND, "name": 7}).name == "7"
    assert read_table(Piece, {**SOUND, "shape": Square(2.0)}).shape == Square(2.0)
    assert read_table(Piece, piece) is piece


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": "left out"}, "name: missing; it must be given"),
        ({"name": 3}, "name: 3 is not text; put it in quotes"),
        ({"name": " "}, "name: it is blank"),
        ({"name": "abcdef"}, "name: 6 characters are too many; at most 5"),
        ({"count": 0}, "count: 0 is not allowed; it must be at least 1"),
        ({"count": 1.5}, "count: 1.5 is not a whole number; write one such as 2"),
        ({"count": True}, "count: true is not a whole number; write one such as 2"),
        ({"shape": {"wide": 3}}, "shape: kind is missing; it must be given"),
        ({"shape": {"kind": "ring"}}, "shape: kind 'ring' is not allowed; "
         "allowed: 'disc', 'square'"),
        ({"shape": {"kind": ["disc"]}}, "shape: kind ['disc'] is not allowed; "
         "allowed: 'disc', 'square'"),
        ({"shape": {"kind": "disc", "wide": 0}}, "shape.wide: 0 is not allowed; it must be "
         "greater than 0"),
        ({"shape": {"kind": "disc", "wide": 101}}, "shape.wide: 101 is not allowed; it must be "
         "at most 100"),
        ({"shape": {"kind": "disc", "wide": float("nan")}}, "shape.wide: nan is not a number; "
         "write one such as 3.0"),
        ({"shape": {"kind": "disc", "wide": 10**400}}, "shape.wide: 1000"),
        ({"shape": {"kind": "square", "side": 1, "round": "yes"}}, "shape.round: 'yes' is "
         "neither true nor false"),
        ({"shape": 3}, "shape: 3 is not a table of keys"),
        ({"way": "left"}, "way: 'left' is not allowed here; allowed: 'up' or 'down'"),
        ({"places": []}, "places: at least one entry must be given"),
        ({"places": 3}, "places: 3 is not a list; put it in [ ]"),
        ({"places": [1, "x"]}, "places[2]: 'x' is not a number; write one such as 3.0"),
        ({"pair": [1]}, "pair: 1 entries are given, and 2 are needed"),
        ({"colours": ["red"]}, "colours: a list is not a table of keys"),
        ({"colours": {"x": "green"}}, "colours.x: 'green' is not allowed here; "
         "allowed: 'red' or 'blue'"),
        ({"nmae": "b"}, "nmae: unknown key; did you mean 'name'?"),
        ({"least": 10}, "the file: most must not be smaller than least"),
    ],
)  # fmt: skip
def test_each_fault_is_one_line_that_begins_with_its_place(
    changes: dict[str, Any], said: str
) -> None:
    (line,) = faults(**changes)
    assert line.startswith(said)
    assert len(line) < 120


def test_all_faults_are_told_at_once_in_the_order_of_the_fields() -> None:
    assert faults(name="left out", count="x", places=["a", "b"], mots=1) == [
        "name: missing; it must be given",
        "count: 'x' is not a whole number; write one such as 2",
        "places[1]: 'a' is not a number; write one such as 3.0",
        "places[2]: 'b' is not a number; write one such as 3.0",
        "mots: unknown key; did you mean 'most'?",
    ]
    with pytest.raises(TableError) as caught:
        read_table(Piece, ["name"])
    assert [fault.words for fault in caught.value.faults] == [
        "the file: a list is not a table of keys"
    ]


def test_a_table_written_plainly_is_read_as_the_same() -> None:
    piece = Piece(name="B", shape=Square(2.0), colours={"x": Colour.RED}, pair=(1, 2))
    assert read_table(Piece, plain(piece)) == piece
    given = plain(piece, given_only=True)
    assert given == {
        "name": "B",
        "shape": {"kind": "square", "side": 2.0},
        "pair": [1, 2],
        "colours": {"x": "red"},
    }
    assert read_table(Piece, given) == piece


def test_tables_never_change_and_copies_keep_to_what_holds_between_values() -> None:
    piece = read_table(Piece, SOUND)
    with pytest.raises(AttributeError):
        piece.count = 2  # type: ignore[misc]
    assert piece.replaced(count=2).count == 2
    with pytest.raises(ValueError, match="must not be smaller"):
        piece.replaced(least=10.0)
    assert msgspec.msgpack.decode(msgspec.msgpack.encode(piece), type=Piece) == piece
