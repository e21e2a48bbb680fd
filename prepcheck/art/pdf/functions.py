"""PDF functions of types 0, 2, 3 and 4 (ISO 32000-2, 7.10)."""

from __future__ import annotations

import itertools
import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import Any

import numpy as np
from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.limits import DEFAULT, Demand, Limits
from prepcheck.art.pdf.calculator import (
    CalculatorProgram,
    FunctionError,
    parse_calculator,
    run_calculator,
)
from prepcheck.art.pdf.objects import array, integer, number, numbers, raw_entry, resolved
from prepcheck.art.pdf.streams import decoded
from prepcheck.frozen import dataclass
from prepcheck.geometry import FloatArray, distinct

MAX_DEPTH = 8
"""Stitching functions nest no deeper."""
MAX_INPUTS = 12
MAX_SAMPLES = 1 << 24
"""Samples of one sampled function; the largest in press files, 4 inputs at 33 steps, has 4.7 M."""

Pairs = tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class Function(ABC):
    """A map from `domain` to `outputs` numbers, clipped to `range` when there is one."""

    domain: Pairs
    range: Pairs

    @property
    @abstractmethod
    def outputs(self) -> int:
        """How many numbers come out."""

    @abstractmethod
    def _value(self, inputs: Sequence[float]) -> Sequence[float]:
        """Return the raw result for inputs inside the domain."""

    def at(self, *inputs: float) -> tuple[float, ...]:
        """Return the function's value; missing inputs count as the least of the domain."""
        given = itertools.chain(inputs, itertools.repeat(-math.inf))
        inside = [
            min(max(x, low), high) for (low, high), x in zip(self.domain, given, strict=False)
        ]
        value = self._value(inside)
        if self.range:
            return tuple(min(max(y, a), b) for y, (a, b) in zip(value, self.range, strict=False))
        return tuple(value)

    def over(self, inputs: FloatArray) -> FloatArray:
        """Return the values (n, outputs) for inputs (n, inputs)."""
        return np.array([self.at(*row) for row in inputs.tolist()], np.float64)

    def _held(self, inputs: FloatArray) -> FloatArray:
        """Return the only input (n,) of each, held to the domain."""
        low, high = self.domain[0]
        return np.asarray(np.minimum(np.maximum(inputs[:, 0], low), high))

    def _in_range(self, values: FloatArray) -> FloatArray:
        if not self.range:
            return values
        low, high = np.array(self.range).T
        return np.asarray(np.minimum(np.maximum(values, low), high))


@dataclass(frozen=True, eq=False)
class Sampled(Function):
    """Type 0: a table, interpolated linearly in every direction."""

    samples: FloatArray
    """(last input, ..., first input, outputs), already decoded."""
    encode: Pairs

    @property
    def outputs(self) -> int:
        return int(self.samples.shape[-1])

    def _value(self, inputs: Sequence[float]) -> Sequence[float]:
        corners: list[tuple[tuple[int, float], ...]] = []
        sizes = self.samples.shape[-2::-1]
        for x, domain, encode, size in zip(inputs, self.domain, self.encode, sizes, strict=True):
            place = min(max(_interpolate(x, domain, encode), 0.0), size - 1.0)
            low = min(int(place), max(size - 2, 0))
            share = place - low
            corners.append(((low, 1.0 - share), (low + 1, share)) if share else ((low, 1.0),))
        total = np.zeros(self.outputs)
        for corner in itertools.product(*reversed(corners)):
            weight = math.prod(share for _, share in corner)
            total += weight * self.samples[tuple(index for index, _ in corner)]
        return list(map(float, total))

    def over(self, inputs: FloatArray) -> FloatArray:
        if len(self.domain) != 1:
            return super().over(inputs)
        (low, high), (first, last) = self.domain[0], self.encode[0]
        x, at = self._held(inputs), np.arange(len(self.samples))
        place = first + (x - low) * (last - first) / (high - low) if high != low else first + 0 * x
        columns = [np.interp(place, at, column) for column in self.samples.T]
        return self._in_range(np.stack(columns, axis=1))


@dataclass(frozen=True, eq=False)
class Exponential(Function):
    """Type 2: C0 + x^N (C1 - C0)."""

    start: tuple[float, ...]
    end: tuple[float, ...]
    power: float

    @property
    def outputs(self) -> int:
        return len(self.start)

    def _value(self, inputs: Sequence[float]) -> Sequence[float]:
        (x,) = inputs
        share = x if self.power == 1.0 else _power(x, self.power)
        return [a + share * (b - a) for a, b in zip(self.start, self.end, strict=True)]

    def over(self, inputs: FloatArray) -> FloatArray:
        if self.power != 1.0:
            return super().over(inputs)
        start, end = np.array(self.start), np.array(self.end)
        return self._in_range(start + self._held(inputs)[:, None] * (end - start))


@dataclass(frozen=True, eq=False)
class Stitching(Function):
    """Type 3: functions of one input set end to end."""

    parts: tuple[Function, ...]
    bounds: tuple[float, ...]
    encode: Pairs

    @property
    def outputs(self) -> int:
        return self.parts[0].outputs

    def _value(self, inputs: Sequence[float]) -> Sequence[float]:
        (x,) = inputs
        index = sum(1 for bound in self.bounds if x >= bound)
        edges = (self.domain[0][0], *self.bounds, self.domain[0][1])
        inner = _interpolate(x, (edges[index], edges[index + 1]), self.encode[index])
        return self.parts[index].at(inner)

    def over(self, inputs: FloatArray) -> FloatArray:
        x = self._held(inputs)
        index = (x[:, None] >= np.array(self.bounds).reshape(1, -1)).sum(axis=1)
        edges = (self.domain[0][0], *self.bounds, self.domain[0][1])
        found = np.empty((len(x), self.outputs))
        for part in distinct(index).tolist():
            own = index == part
            low, high = edges[part], edges[part + 1]
            first, last = self.encode[part]
            inner = (
                first + (x[own] - low) * (last - first) / (high - low)
                if high != low
                else np.full(int(own.sum()), first)
            )
            found[own] = self.parts[part].over(inner[:, None])
        return self._in_range(found)


@dataclass(frozen=True, eq=False)
class Calculator(Function):
    """Type 4: a PostScript calculator program."""

    program: CalculatorProgram
    limits: Limits = DEFAULT

    @property
    def outputs(self) -> int:
        return len(self.range)

    def _value(self, inputs: Sequence[float]) -> Sequence[float]:
        self.limits.spend(Demand.FUNCTION_STEPS, self.program.operators)
        try:
            return run_calculator(self.program.body, inputs, len(self.range))
        except FunctionError:
            return [low for low, _ in self.range]


@dataclass(frozen=True, eq=False)
class Joined(Function):
    """An array of functions with the same inputs, one or more outputs each, side by side."""

    parts: tuple[Function, ...]

    @property
    def outputs(self) -> int:
        return sum(part.outputs for part in self.parts)

    def _value(self, inputs: Sequence[float]) -> Sequence[float]:
        return [value for part in self.parts for value in part.at(*inputs)]


def read_function(source: Any, limits: Limits = DEFAULT, depth: int = 0) -> Function:
    """Return the function a PDF object defines; an array of functions is joined.

    Raises FunctionError when the definition is damaged, circular or nested too deep, and
    BudgetError beyond `limits`, as working out what it returns does.
    """
    if depth > MAX_DEPTH:
        raise FunctionError("functions nest too deep")
    source = resolved(source)
    if isinstance(source, list) and source:
        parts = tuple(read_function(part, limits, depth + 1) for part in source)
        return Joined(parts[0].domain, (), parts)
    if not isinstance(source, DictionaryObject):
        raise FunctionError("a function is a dictionary, or an array of them")
    reader = _READERS.get(integer(source, "FunctionType") or 0)
    if reader is None:
        raise FunctionError("a function of a type that there is not")
    found = reader(source, limits, depth)
    if found.range and len(found.range) != found.outputs:
        raise FunctionError("a function whose range does not fit what comes out")
    return found


def _read_sampled(source: DictionaryObject, limits: Limits, depth: int) -> Function:
    domain, out = _pairs(source, "Domain"), _pairs(source, "Range")
    sizes = [int(size) for size in _numbers(source, "Size")]
    bits = integer(source, "BitsPerSample") or 0
    if len(sizes) != len(domain) or not 0 < len(sizes) <= MAX_INPUTS or min(sizes) < 1 or not out:
        raise FunctionError("sampled function with a wrong Size")
    count = math.prod(sizes) * len(out)
    if count > MAX_SAMPLES:
        raise FunctionError("sampled function with too many samples")
    if not isinstance(source, StreamObject):
        raise FunctionError("a sampled function without samples")
    raw = unpack_samples(decoded(source, limits), count, bits)
    table = raw.reshape(*reversed(sizes), len(out)) / (2.0**bits - 1.0)
    decode = _pairs(source, "Decode", out)
    encode = _pairs(source, "Encode", tuple((0.0, n - 1.0) for n in sizes))
    if len(decode) < len(out) or len(encode) < len(sizes):
        raise FunctionError("a sampled function whose entries do not fit")
    low, high = np.array(decode[: len(out)]).T
    return Sampled(domain, out, low + table * (high - low), encode[: len(sizes)])


def _read_exponential(source: DictionaryObject, limits: Limits, depth: int) -> Function:
    start, end = _numbers(source, "C0", (0.0,)), _numbers(source, "C1", (1.0,))
    power, domain = number(source, "N"), _pairs(source, "Domain")
    if power is None or len(start) != len(end) or len(domain) != 1:
        raise FunctionError("exponential function with wrong entries")
    least = min(domain[0])
    if (power < 0 and least <= 0) or (least < 0 and not power.is_integer()):
        raise FunctionError("exponential function with wrong entries")
    return Exponential(domain, _range(source), start, end, power)


def _read_stitching(source: DictionaryObject, limits: Limits, depth: int) -> Function:
    given = array(source, "Functions") or ()
    parts = tuple(read_function(part, limits, depth + 1) for part in given)
    bounds, encode = _numbers(source, "Bounds"), _pairs(source, "Encode")
    domain = _pairs(source, "Domain")
    if (
        not parts
        or len({part.outputs for part in parts}) != 1
        or len(bounds) != len(parts) - 1
        or len(encode) < len(parts)
        or len(domain) != 1
    ):
        raise FunctionError("stitching function with wrong entries")
    return Stitching(domain, _range(source), parts, bounds, encode)


def _read_calculator(source: DictionaryObject, limits: Limits, depth: int) -> Function:
    domain, out = _pairs(source, "Domain"), _pairs(source, "Range")
    if not isinstance(source, StreamObject) or not out:
        raise FunctionError("a calculator function without a program or a range")
    program = parse_calculator(decoded(source, limits), limits)
    return Calculator(domain, out, program, limits)


_READERS = {0: _read_sampled, 2: _read_exponential, 3: _read_stitching, 4: _read_calculator}


def unpack_samples(data: bytes, count: int, bits: int) -> FloatArray:
    """Return `count` big-endian samples of 1 to 32 bits each as numbers."""
    if not 1 <= bits <= 32:
        raise FunctionError(f"{bits} bits a sample")
    if len(data) * 8 < count * bits:
        raise FunctionError("the table of samples is too short")
    if bits in (8, 16, 32):
        values = np.frombuffer(data, f">u{bits // 8}", count)
        return values.astype(np.float64)
    stream = np.unpackbits(np.frombuffer(data, np.uint8), count=count * bits)
    weights = 2.0 ** np.arange(bits - 1, -1, -1)
    unpacked: FloatArray = stream.reshape(count, bits) @ weights
    return unpacked


def _interpolate(x: float, old: tuple[float, float], new: tuple[float, float]) -> float:
    span = old[1] - old[0]
    return new[0] if span == 0 else new[0] + (x - old[0]) * (new[1] - new[0]) / span


def _power(x: float, power: float) -> float:
    try:
        return float(x**power)
    except ArithmeticError:  # beyond all numbers, or a power of 0
        raise FunctionError("an exponential function has no value there") from None


def _numbers(
    source: DictionaryObject, key: str, otherwise: tuple[float, ...] | None = None
) -> tuple[float, ...]:
    """Return an array of numbers; `otherwise` where there is none."""
    if raw_entry(source, key) is None and otherwise is not None:
        return otherwise
    found = numbers(raw_entry(source, key))
    if found is None:
        raise FunctionError(f"a function's {key} is no list of numbers")
    return found


def _pairs(source: DictionaryObject, key: str, otherwise: Pairs | None = None) -> Pairs:
    """Return an array of pairs of numbers; `otherwise` where there is none."""
    if raw_entry(source, key) is None and otherwise is not None:
        return otherwise
    found = _numbers(source, key)
    if not found or len(found) % 2:
        raise FunctionError(f"a function's {key} is no list of pairs")
    return tuple(zip(found[::2], found[1::2], strict=True))


def _range(source: DictionaryObject) -> Pairs:
    return _pairs(source, "Range", ())
