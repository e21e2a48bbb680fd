"""PostScript calculator programs, the body of type 4 functions (ISO 32000-2, 7.10.5)."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from typing import NamedTuple

from prepcheck.art.limits import DEFAULT, Demand, Limits
from prepcheck.errors import ObjectError

MAX_STACK = 100
"""Operands on the stack (ISO 32000-2, Annex C)."""
MAX_NESTING = 32
_WRAP = 1 << 31
MOST_COUNTED = 10_000_000
"""Words of a program that are counted before it is refused."""

Procedure = tuple["float | int | bool | str | Procedure", ...]
Number = float | int

_NUMBER = re.compile(r"[+-]?(?:[0-9]{1,30}\.?|[0-9]{0,30}\.[0-9]{1,30})(?:[eE][+-]?[0-9]{1,2})?")
_TOKEN = re.compile(rb"%[^\r\n]*|[{}]|[^\s{}%]+")


class FunctionError(ObjectError):
    """A function's definition is damaged, or it has no value there."""


class CalculatorProgram(NamedTuple):
    """A program's tokens, procedures nested, and how many there are."""

    body: Procedure
    operators: int


def parse_calculator(source: bytes, limits: Limits = DEFAULT) -> CalculatorProgram:
    """Return a program; raises FunctionError when braces do not match, BudgetError for one beyond
    the limits."""
    count = sum(1 for _ in islice(_TOKEN.finditer(source), MOST_COUNTED))
    limits.hold(Demand.PROGRAM, count)
    words = (word for word in _TOKEN.findall(source) if not word.startswith(b"%"))
    if next(words, b"") != b"{":
        raise FunctionError("a calculator function starts with a brace")
    return CalculatorProgram(_procedure(words, 0), count)


def _procedure(words: Iterator[bytes], depth: int) -> Procedure:
    if depth > MAX_NESTING:
        raise FunctionError("calculator procedures nest too deep")
    body: list[float | int | bool | str | Procedure] = []
    for word in words:
        if word == b"}":
            return tuple(body)
        body.append(_procedure(words, depth + 1) if word == b"{" else _operand(word))
    raise FunctionError("a calculator function ends with a brace")


def _operand(word: bytes) -> float | int | bool | str:
    text = word.decode("latin-1")
    if text in _OPERATORS or text in _STACK_WORDS or text in _GUARDED:
        return text
    if text in ("true", "false"):
        return text == "true"
    if not _NUMBER.fullmatch(text):
        raise FunctionError(f"a calculator function says {text[:20]}, which is nothing")
    return _whole(int(text)) if text.lstrip("+-").isdigit() else float(text)


def _whole(value: Number) -> Number:
    """Return a number as PostScript holds it: an integer beyond 32 bits is a real, so that what is
    multiplied over and over ends as infinite, not as a number without end."""
    return float(value) if isinstance(value, int) and not -_WRAP <= value < _WRAP else value


def run_calculator(program: Procedure, inputs: Sequence[float], outputs: int) -> list[float]:
    """Return the `outputs` numbers a program leaves on top of the stack.

    Raises FunctionError where PostScript would stop.
    """
    stack: list[Number] = list(inputs)
    _run(program, stack)
    if len(stack) < outputs:
        raise FunctionError("a calculator function left too few numbers")
    return [float(number) for number in stack[len(stack) - outputs :]]


def _run(body: Procedure, stack: list[Number]) -> None:
    pending: list[Procedure] = []
    for word in body:
        if isinstance(word, tuple):
            pending.append(word)
        elif not isinstance(word, str):
            stack.append(word)
        elif word in _OPERATORS:
            count, function = _OPERATORS[word]
            operands = _taken(stack, count)
            try:
                stack.append(_whole(function(*operands)))
            except (ArithmeticError, ValueError):
                raise FunctionError(f"{word} has no result there") from None
        elif word in _STACK_WORDS:
            least, change = _STACK_WORDS[word]
            if len(stack) < least:
                raise FunctionError("calculator stack underflow")
            change(stack)
        else:
            if len(pending) < _GUARDED[word]:
                raise FunctionError("if and ifelse need procedures")
            other = pending.pop() if word == "ifelse" else ()
            then = pending.pop()
            _run(then if _taken(stack, 1)[0] else other, stack)
        if len(stack) > MAX_STACK:
            raise FunctionError("calculator stack overflow")


def _taken(stack: list[Number], count: int) -> list[Number]:
    """Take the last so many numbers off a stack."""
    if len(stack) < count:
        raise FunctionError("calculator stack underflow")
    taken = stack[len(stack) - count :]
    del stack[len(stack) - count :]
    return taken


def _places(stack: list[Number]) -> int:
    """Take a number off a stack that says how many places, or how far."""
    number = stack.pop()
    if not math.isfinite(number):
        raise FunctionError("a calculator function counts beyond all numbers")
    return int(number)


def _copy(stack: list[Number]) -> None:
    count = _places(stack)
    if not 0 <= count <= len(stack):
        raise FunctionError("copy of more than there is")
    stack.extend(stack[len(stack) - count :])


def _index(stack: list[Number]) -> None:
    back = _places(stack)
    if not 0 <= back < len(stack):
        raise FunctionError("index of more than there is")
    stack.append(stack[-1 - back])


def _roll(stack: list[Number]) -> None:
    by, count = _places(stack), _places(stack)
    if not 0 <= count <= len(stack):
        raise FunctionError("roll of more than there is")
    if count:
        top = stack[len(stack) - count :]
        by %= count
        stack[len(stack) - count :] = top[count - by :] + top[: count - by]


def _exchange(stack: list[Number]) -> None:
    stack[-1], stack[-2] = stack[-2], stack[-1]


def _discard(stack: list[Number]) -> None:
    stack.pop()


def _duplicate(stack: list[Number]) -> None:
    stack.append(stack[-1])


def _shift(value: Number, by: Number) -> Number:
    value, by = int(value), int(by)
    shifted = (value & 0xFFFFFFFF) << by if 0 <= by < 32 else (value & 0xFFFFFFFF) >> min(-by, 32)
    shifted &= 0xFFFFFFFF
    return shifted - (1 << 32) if shifted & 0x80000000 else shifted


def _bits(whole: Callable[[int, int], int]) -> Callable[[Number, Number], Number]:
    def combine(a: Number, b: Number) -> Number:
        result = whole(int(a), int(b))
        return bool(result) if isinstance(a, bool) and isinstance(b, bool) else result

    return combine


def _power(base: Number, exponent: Number) -> Number:
    return math.pow(base, exponent)


def _round(value: Number) -> Number:
    return value if isinstance(value, int) else float(math.floor(value + 0.5))


_OPERATORS: dict[str, tuple[int, Callable[..., Number]]] = {
    "abs": (1, abs),
    "add": (2, operator.add),
    "and": (2, _bits(operator.and_)),
    "atan": (2, lambda y, x: math.degrees(math.atan2(y, x)) % 360.0),
    "bitshift": (2, _shift),
    "ceiling": (1, lambda a: a if isinstance(a, int) else float(math.ceil(a))),
    "cos": (1, lambda a: math.cos(math.radians(a))),
    "cvi": (1, int),
    "cvr": (1, float),
    "div": (2, operator.truediv),
    "eq": (2, operator.eq),
    "exp": (2, _power),
    "floor": (1, lambda a: a if isinstance(a, int) else float(math.floor(a))),
    "ge": (2, operator.ge),
    "gt": (2, operator.gt),
    "idiv": (2, lambda a, b: math.trunc(int(a) / int(b))),
    "le": (2, operator.le),
    "ln": (1, math.log),
    "log": (1, math.log10),
    "lt": (2, operator.lt),
    "mod": (2, lambda a, b: int(math.fmod(int(a), int(b)))),
    "mul": (2, operator.mul),
    "ne": (2, operator.ne),
    "neg": (1, operator.neg),
    "not": (1, lambda a: not a if isinstance(a, bool) else ~int(a)),
    "or": (2, _bits(operator.or_)),
    "round": (1, _round),
    "sin": (1, lambda a: math.sin(math.radians(a))),
    "sqrt": (1, math.sqrt),
    "sub": (2, operator.sub),
    "truncate": (1, lambda a: a if isinstance(a, int) else float(math.trunc(a))),
    "xor": (2, _bits(operator.xor)),
}

_STACK_WORDS: dict[str, tuple[int, Callable[[list[Number]], None]]] = {
    "copy": (1, _copy),
    "dup": (1, _duplicate),
    "exch": (2, _exchange),
    "index": (1, _index),
    "pop": (1, _discard),
    "roll": (2, _roll),
}
"""What moves operands about, and how many of them it needs."""
_GUARDED = {"if": 1, "ifelse": 2}
"""How many procedures stand before these."""
