"""Our frozen dataclasses are those of the standard library, whose behaviour is the truth here."""

from __future__ import annotations

import copy
import dataclasses
import pickle
import subprocess
import sys
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field
from typing import Any

import msgspec
import pytest

from prepcheck import frozen

Make = Callable[..., Callable[[type[Any]], type[Any]]]
MAKES = {"own": frozen.dataclass, "library": dataclasses.dataclass}


def classes(make: Make, slots: bool) -> tuple[type[Any], type[Any]]:
    @make(frozen=True, slots=slots)
    class Base:
        """A base."""

        wide: float
        names: tuple[str, ...] = ()
        found: list[int] = field(default_factory=list, compare=False)
        told: str = field(default="x", repr=False)

        @property
        def twice(self) -> float:
            return 2 * self.wide

    @make(frozen=True, slots=slots)
    class Inner(Base):
        """One that adds a field, and looks at what it is given."""

        deep: float = 1.0

        def __post_init__(self) -> None:
            if self.deep < 0:
                raise ValueError("not below 0")

    return Base, Inner


@pytest.mark.parametrize("first", MAKES.values(), ids=MAKES)
@pytest.mark.parametrize("then", MAKES.values(), ids=MAKES)
def test_one_inherits_from_the_other(first: Make, then: Make) -> None:
    @first(frozen=True)
    class Base:
        wide: float

    @then(frozen=True)
    class Inner(Base):
        deep: float

    assert (Inner(1, 2).wide, Inner(1, 2).deep, Inner(1, 2) == Inner(1, 3)) == (1, 2, False)
    with pytest.raises(FrozenInstanceError):
        Inner(1, 2).wide = 3


def seen(make: Make, slots: bool) -> list[object]:
    """Return what can be seen of two classes and what is made of them."""
    base, inner = classes(make, slots)
    one, two = base(2.0, ("a",)), inner(2.0, told="y", deep=3.0)
    assert one.found is not base(2.0).found
    refused = []
    for wrong in (lambda: base(), lambda: base(1, 2, 3, 4, 5), lambda: base(1, wide=2),
                  lambda: base(1, odd=2), lambda: inner(1, deep=-1)):  # fmt: skip
        with pytest.raises((TypeError, ValueError)) as error:
            wrong()
        refused.append(type(error.value))
    for change in (lambda: setattr(one, "wide", 1), lambda: delattr(one, "wide"),
                   lambda: setattr(two, "names", 1)):  # fmt: skip
        with pytest.raises(FrozenInstanceError):
            change()
    return [
        repr(one), repr(two), one == base(2.0, ("a",), [5]), one == base(2.0, ("b",)),
        one == two, base(2.0, told="y") == two, one != 3, hash(one) == hash(base(2.0, ("a",), [4])),
        hash(two) == hash(dataclasses.replace(two, wide=1.0)), hasattr(one, "__dict__"),
        repr(dataclasses.replace(two, wide=5)), dataclasses.asdict(two),
        [one.name for one in dataclasses.fields(inner)], base.__match_args__, inner.__match_args__,
        base.__doc__, one.twice, repr(copy.deepcopy(two)), repr(copy.copy(one)), refused,
        msgspec.json.encode(two), base.wide if "wide" in base.__dict__ and not slots else None,
    ]  # fmt: skip


@pytest.mark.parametrize("slots", [False, True])
def test_they_behave_as_those_of_the_library(slots: bool) -> None:
    assert seen(frozen.dataclass, slots) == seen(dataclasses.dataclass, slots)


@pytest.mark.parametrize("make", MAKES.values(), ids=MAKES)
def test_by_identity_where_that_is_asked_for(make: Make) -> None:
    @make(frozen=True, eq=False)
    class Page:
        number: int

    one = Page(1)
    assert one != Page(1)
    assert len({one, one, Page(1)}) == 2


@pytest.mark.parametrize("make", MAKES.values(), ids=MAKES)
def test_methods_of_their_own_stay(make: Make) -> None:
    @make(frozen=True)
    class Own:
        number: int

        def __repr__(self) -> str:
            return "own"

        def __eq__(self, other: object) -> bool:
            return True

        def __hash__(self) -> int:
            return 7

    one = Own(1)
    assert (repr(one), one == Own(2), hash(one)) == ("own", True, 7)


@frozen.dataclass(frozen=True, slots=True)
class Carried:
    """Has slots, and goes to another process."""

    name: str
    sizes: tuple[float, ...] = (1.0,)


def test_they_are_carried_by_pickle_and_by_messages() -> None:
    one = Carried("a", (2.0, 3.0))
    assert pickle.loads(pickle.dumps(one)) == one
    assert msgspec.msgpack.decode(msgspec.msgpack.encode(one), type=Carried) == one


@pytest.mark.parametrize("make", MAKES.values(), ids=MAKES)
def test_what_is_made_and_not_given(make: Make) -> None:
    @make(frozen=True)
    class Exam:
        name: str
        made: dict[str, int] = field(default_factory=dict, init=False)

    one, two = Exam("a"), Exam("a")
    one.made["x"] = 1
    assert two.made == {}
    with pytest.raises(TypeError):
        Exam("a", {})


def test_what_is_there_before_a_label_is_judged_takes_them() -> None:
    code = (
        "import sys, dataclasses, prepcheck.run.preload, prepcheck.run.judge, prepcheck.cli; "
        "own = [m for n, m in sys.modules.items() if n.startswith('prepcheck')]; "
        "assert len(own) > 200; "
        "made = [v for m in own for v in vars(m).values() if isinstance(v, type) "
        "and v.__module__ == m.__name__ and dataclasses.is_dataclass(v)]; "
        "assert len(made) > 100; "
        "print([v.__name__ for v in made if v.__dataclass_params__.frozen "
        "and not any(map(dataclasses.is_dataclass, v.__mro__[1:])) "
        "and v.__setattr__ is not prepcheck.frozen._refused])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
