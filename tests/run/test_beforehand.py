"""What one thread foresees another makes; nothing is made twice, and nothing waited for in vain."""

from threading import Event, Thread

import pytest

from prepcheck.run.beforehand import Foreseen


class Counted:
    def __init__(self) -> None:
        self.made: list[int] = []

    def __call__(self, number: int) -> int:
        self.made.append(number)
        if number < 0:
            raise ValueError(number)
        return number * number


def test_what_is_foreseen_is_made_once_and_in_order() -> None:
    make = Counted()
    foreseen = Foreseen(make)
    foreseen.foresee([3, 1])
    foreseen.foresee([2])
    foreseen.make_all()
    assert make.made == [3, 1, 2]
    assert [foreseen.result(number) for number in (1, 2, 3)] == [1, 4, 9]
    assert make.made == [3, 1, 2]


def test_who_asks_sooner_makes_it_themselves() -> None:
    make = Counted()
    foreseen = Foreseen(make)
    foreseen.foresee([1, 2])
    assert foreseen.result(2) == 4
    assert foreseen.result(7) == 49
    foreseen.make_all()
    assert make.made == [2, 7, 1]


def test_what_is_foreseen_too_late_is_made_by_who_asks() -> None:
    foreseen = Foreseen(Counted())
    foreseen.make_all()
    foreseen.foresee([5])
    assert foreseen.result(5) == 25


def test_who_asks_gets_the_fault_and_the_rest_is_made() -> None:
    foreseen = Foreseen(Counted())
    foreseen.foresee([-1, 4])
    foreseen.make_all()
    assert foreseen.result(4) == 16
    with pytest.raises(ValueError, match="-1"):
        foreseen.result(-1)


def test_who_asks_while_it_is_being_made_waits_for_it() -> None:
    begun, go_on = Event(), Event()
    made: list[int] = []

    def make(number: int) -> int:
        made.append(number)
        begun.set()
        go_on.wait(10)
        return number + 1

    foreseen = Foreseen(make)
    foreseen.foresee([1])
    other = Thread(target=foreseen.make_all)
    other.start()
    assert begun.wait(10)
    asker = Thread(target=lambda: made.append(foreseen.result(1)))
    asker.start()
    go_on.set()
    asker.join(10)
    other.join(10)
    assert made == [1, 2]
