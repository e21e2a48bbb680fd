"""Character maps: string to codes, codes to CIDs or text (ISO 32000-2, 9.7.5 and 9.10.3)."""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import NamedTuple

from prepcheck.art.limits import DEFAULT, Demand, Limits
from prepcheck.art.pdf.tokens import Name, Operand, operands, operators

AT_LENGTH = 256
"""Codes of a range up to which each is listed by itself."""
MOST_BACK = 64
"""Ranges before a code that are looked at, in maps whose ranges lie over each other."""


class Span(NamedTuple):
    """A long range of codes: their length in bytes, the lowest and highest, what the lowest is."""

    length: int
    low: int
    high: int
    target: Operand


@dataclass
class CodeMap:
    """Code lengths, and what each code (its length and number) stands for."""

    spaces: list[tuple[bytes, bytes]] = field(default_factory=list)
    """Code ranges: the lowest and highest code of each, as many bytes as the codes have."""
    cids: dict[tuple[int, int], int] = field(default_factory=dict)
    text: dict[tuple[int, int], str] = field(default_factory=dict)
    cid_spans: list[Span] = field(default_factory=list)
    text_spans: list[Span] = field(default_factory=list)
    vertical: bool = False
    identity: bool = False
    """Two-byte codes are CIDs."""
    known: bool = True
    """False for a predefined map whose table is not at hand: codes give no CIDs."""

    def codes(self, data: bytes) -> list[tuple[int, int]]:
        """Cut a string into codes, each as (length in bytes, number)."""
        if self.identity and not self.spaces:
            return [(2, data[at] << 8 | data[at + 1]) for at in range(0, len(data) - 1, 2)]
        found, at = [], 0
        while at < len(data):
            length = self._length(data, at)
            piece = data[at : at + length]
            found.append((len(piece), int.from_bytes(piece, "big")))
            at += length
        return found

    def _length(self, data: bytes, at: int) -> int:
        for low, high in self.spaces:
            piece = data[at : at + len(low)]
            if len(piece) == len(low) and all(
                a <= byte <= b for a, byte, b in zip(low, piece, high, strict=True)
            ):
                return len(low)
        return min((len(low) for low, _ in self.spaces), default=1)

    def cid(self, code: tuple[int, int]) -> int:
        """Return the CID of a code; 0 when it has none."""
        found = self.cids.get(code)
        if found is None:
            span = _span_of(self.cid_spans, code)
            if span is not None and isinstance(span.target, float):
                return int(span.target) + code[1] - span.low
            return code[1] if self.identity else 0
        return found

    def text_of(self, code: tuple[int, int]) -> str:
        """Return the text a code stands for; empty when it has none."""
        found = self.text.get(code)
        if found is None:
            span = _span_of(self.text_spans, code)
            return "" if span is None else _text(span.target, code[1] - span.low)
        return found


def _span_of(spans: list[Span], code: tuple[int, int]) -> Span | None:
    length, number = code
    last = bisect_right(spans, (length, number), key=lambda span: (span.length, span.low))
    for span in reversed(spans[max(0, last - MOST_BACK) : last]):
        if span.length == length and number <= span.high:
            return span
    return None


def read_map(data: bytes, limits: Limits = DEFAULT) -> CodeMap:
    """Return the map in a CMap stream; what is damaged in it is left out.

    Raises BudgetError beyond `limits`.
    """
    found = CodeMap()
    for step in operators(data):
        match step.operator:
            case b"endcodespacerange":
                values = [value for value in operands(step.raw) if isinstance(value, bytes)]
                for low, high in zip(values[::2], values[1::2], strict=False):
                    if 0 < len(low) <= 4 and len(low) == len(high) and len(found.spaces) < 100:
                        found.spaces.append((low, high))
            case b"endcidchar" | b"endcidrange" | b"endbfchar" | b"endbfrange":
                _add(found, step.operator, operands(step.raw), limits)
            case b"usecmap":
                names = [value for value in operands(step.raw) if isinstance(value, Name)]
                if names and names[-1].startswith("/Identity"):
                    found.identity = True
            case b"def" if b"/WMode" in step.raw:
                found.vertical = operands(step.raw)[-1:] == [1.0]
    found.spaces.sort(key=lambda space: len(space[0]))
    for spans in (found.cid_spans, found.text_spans):
        spans.sort(key=lambda span: (span.length, span.low))
    return found


def _add(found: CodeMap, operator: bytes, values: list[Operand], limits: Limits) -> None:
    width = 3 if operator.endswith(b"range") else 2
    for at in range(0, len(values) - width + 1, width):
        low, high, target = values[at], values[at + width - 2], values[at + width - 1]
        if not isinstance(low, bytes) or not isinstance(high, bytes) or not low:
            continue
        start = int.from_bytes(low, "big")
        end = int.from_bytes(high, "big")
        if end - start >= AT_LENGTH:
            limits.spend(Demand.CODES, 1)
            spans = found.cid_spans if operator.startswith(b"endcid") else found.text_spans
            spans.append(Span(len(low), start, end, target))
            continue
        limits.spend(Demand.CODES, max(end - start + 1, 0))
        for step in range(end - start + 1):
            code = (len(low), start + step)
            if operator.startswith(b"endcid"):
                if isinstance(target, float):
                    found.cids[code] = int(target) + step
            else:
                text = _text(target, step)
                if text:
                    found.text[code] = text


def _text(target: Operand, step: int) -> str:
    if isinstance(target, list):
        target = target[step] if step < len(target) else None
        step = 0
    if not isinstance(target, bytes):
        return ""
    text = target.decode("utf-16-be", "ignore")
    if step and text:
        last = ord(text[-1]) + step
        text = text[:-1] + (chr(last) if last < 0x110000 and not 0xD800 <= last < 0xE000 else "")
    return text


def predefined(name: str) -> CodeMap:
    """Return a predefined map by its name (9.7.5.2).

    The tables of the Asian collections are not at hand: only how their codes are cut is known.
    """
    vertical = name.endswith("V")
    if name.startswith("Identity"):
        return CodeMap(vertical=vertical, identity=True)
    two = (b"\x00\x00", b"\xff\xff")
    if re.search("UCS2|UTF16", name):
        return CodeMap([two], vertical=vertical, known=False)
    if name in ("H", "V"):
        return CodeMap([two], vertical=vertical, known=False)
    single = [(b"\x00", b"\x80")] + ([(b"\xa0", b"\xdf")] if "RKSJ" in name else [])
    return CodeMap([*single, (b"\x81\x00", b"\xff\xff")], vertical=vertical, known=False)
