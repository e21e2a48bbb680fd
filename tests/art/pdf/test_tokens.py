"""The tokeniser against pypdf's content parser, ISO 32000-2 by hand, and hostile streams."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf.generic import ContentStream

from prepcheck.art.pdf import tokens
from prepcheck.art.pdf.tokens import (
    IN_STEPS,
    PLAIN,
    WITH_NUMBERS,
    Name,
    Operation,
    Paths,
    PlainType,
    image_entries,
    operands,
    operators,
)

SAMPLE = b"""q 1 0 0 1 72.5 -.5 cm % moved
/F1 12 Tf BT (a\\(b\\)\\051 (nested (deep)) \\
c) Tj [(A) -120.5 <4142 4> 3] TJ ET
/Artifact <</Type /Pagination /BBox [0 0 10 10] /Flag true /No null>> BDC
0.1 0.2 0.3 0.4 k 10 10 m 20 20 l h f* EMC Q
T* (x) ' 1 2 (y) " /A#20B gs 0 0 5 5 re W* n"""


def plain(value: object) -> object:
    """Bring a pypdf object or one of ours to the same plain Python values."""
    if isinstance(value, bytes):
        return value
    if isinstance(value, list):
        return [plain(item) for item in value]
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if hasattr(value, "original_bytes"):
        return value.original_bytes
    kind = type(value).__name__
    if kind == "NullObject" or value is None:
        return None
    if kind == "BooleanObject" or isinstance(value, bool):
        return bool(getattr(value, "value", value))
    return str(value) if isinstance(value, str) else pytest.approx(float(value), abs=1e-6)


def reference(data: bytes) -> list[tuple[bytes, object]]:
    stream = ContentStream(None, None)
    stream.set_data(data)
    return [(operator, plain(list(values))) for values, operator in stream.operations]


def ours(data: bytes) -> list[tuple[bytes, object]]:
    return [(step.operator, plain(operands(step.raw))) for step in operators(data)]


def test_agrees_with_pypdf_on_a_sample_of_every_operand_kind() -> None:
    assert ours(SAMPLE) == reference(SAMPLE)


def test_operations_lie_end_to_end_in_the_stream() -> None:
    steps = list(operators(SAMPLE))
    assert [step.start for step in steps] == [0, *(step.end for step in steps[:-1])]
    assert all(SAMPLE[step.start : step.end] == step.raw + step.operator for step in steps)


numbers = st.one_of(
    st.integers(-9999, 9999).map(str), st.decimals(-999, 999, places=3).map(lambda d: f"{d:f}")
).map(str.encode)
names = st.text("abcXYZ019_-.+", min_size=1, max_size=8).map(lambda s: b"/" + s.encode())
strings = st.binary(max_size=12).map(
    lambda raw: b"(" + re.sub(rb"[()\\]", lambda m: b"\\" + m[0], raw).replace(b"\r", b"\\r") + b")"
)
hexes = st.binary(max_size=6).map(lambda raw: b"<" + raw.hex().encode() + b">")
simple = st.one_of(numbers, names, strings, hexes)
atoms = st.one_of(simple, st.sampled_from([b"true", b"false", b"null"]))
arrays = st.lists(atoms, max_size=4).map(lambda items: b"[" + b" ".join(items) + b"]")
pairs = st.dictionaries(names, st.one_of(atoms, arrays), max_size=3)
dictionaries = pairs.map(
    lambda found: b"<<" + b" ".join(k + b" " + v for k, v in found.items()) + b">>"
)
known = st.sampled_from(b"q Q cm re m l c h f f* B b* S n W W* k K scn gs Do Tj T* ' \" d0".split())
# pypdf takes a keyword outside brackets for an operator; none is drawn there.
operation = st.builds(
    lambda values, operator: b" ".join([*values, operator]),
    st.lists(st.one_of(simple, arrays, dictionaries), max_size=5),
    known,
)


@given(st.lists(operation, max_size=12), st.sampled_from([b" ", b"\n", b"\r\n", b" % note\n"]))
def test_agrees_with_pypdf_on_made_content(steps: list[bytes], gap: bytes) -> None:
    data = gap.join(steps)
    assert ours(data) == reference(data)


words = st.sampled_from(
    b"1 -2.5 +.5 6. 7 8.25 - . 1.2.3 1234567890 1-2 m l c v y h re ml lm m5 h' f W n k BI ID EI cm"
    b" /N (s) [ ] << % \xff \x00 \n \t".split(b" ")
)


@given(
    st.lists(words, max_size=40),
    st.sampled_from([b" ", b"\n", b"", b"\x00", b" 1 2 "]),
    st.sampled_from([PLAIN, WITH_NUMBERS]),
)
def test_paths_taken_as_one_hold_the_same_operations(
    parts: list[bytes], gap: bytes, taken: Paths
) -> None:
    data = gap.join(parts)
    found: list[Operation] = []
    for step in operators(data, taken):
        begin = step.start - len(step.path)
        assert data[begin : step.start] == step.path
        found += (
            one._replace(start=begin + one.start, end=begin + one.end)
            for one in operators(step.path)
        )
        found += [step._replace(path=b"")] if step.operator else []
    assert found == list(operators(data))


objects = st.sampled_from([
    b"BT", b"ET", b"1 0 0 1 20 -30.5 Tm", b"/F1 9 Tf", b"12 TL", b"(Salt) Tj", b"(a)Tj", b"T*",
    b"BT 1 0 0 1 2 3 Tm /F1 9 Tf (a) Tj ET", b"BT 12 TL 1 0 0 1 2 3 Tm (a) Tj T*",
    b"1 0 0 1 0 0 Tm 2 0 0 2 1 -1 Tm (BT) Tj", b"3 Tc", b"0 0 1 rg", b"1 2 3 Tm", b"/F1 Tf",
    b"(a(b)) Tj", b"[(a)] TJ", b"(\\051) Tj", b"Td", b"BT /F1 9 Tf 20 -3.5 Td (a) Tj ET",
    b"BT 5 6 Td 12 TL (a) Tj T*", b"5 6 Td", b"BT 5 6 Td",
])  # fmt: skip


@given(st.lists(objects, max_size=40))
def test_plain_text_objects_hold_the_same_operations(parts: list[bytes]) -> None:
    data = b" ".join(parts)
    steps = list(operators(data))
    found: list[Operation] = []

    def taken(start: int) -> int:
        plain = PlainType.at(data, start)
        if plain is None:
            return start
        own = [step for step in steps if start <= step.end - len(step.operator) < plain.end]
        shows: dict[bytes, list[bytes]] = {b"Tj": [], b"Tm": [], b"Tf": [], b"TL": []}
        last = {b"Tm": b"", b"Tf": b"", b"TL": b""}
        placed = True
        for step in own:
            # A step from the origin is the only one in its text object up to there.
            assert not (step.operator == b"Td" and placed)
            placed = (placed or step.operator in (b"Tm", b"Td")) and step.operator != b"BT"
            if step.operator == b"Tj":
                shows[b"Tj"].append(step.raw.strip()[1:-1])
                for key in last:
                    shows[key].append(last[key])
                    last[key] = b""
            elif step.operator == b"Td":
                last[b"Tm"] = b"1 0 0 1 " + step.raw.strip()
            elif step.operator in last:
                last[step.operator] = step.raw.strip()
        assert {step.operator for step in own} <= {b"BT", b"ET", b"T*", b"Td", *shows}
        assert list(plain.strings) == shows[b"Tj"]
        assert [b" ".join(raw.split()) for raw in plain.matrices] == shows[b"Tm"]
        assert [raw.strip() for raw in plain.fonts] == shows[b"Tf"]
        assert [raw.strip() for raw in plain.leadings] == shows[b"TL"]
        assert all(shows[b"Tm"])
        found.extend(own)
        return plain.end

    found += operators(data, text=taken)
    assert sorted(found, key=lambda step: step.start) == steps


@given(st.binary(max_size=300))
def test_random_bytes_give_operations_in_order(data: bytes) -> None:
    end = 0
    for step in operators(data):
        assert end <= step.start < step.end <= len(data)
        operands(step.raw)
        end = step.end


@given(st.lists(st.sampled_from([*b"()<>[]{}/%\\ \n1aBEID'\x80"]), max_size=60).map(bytes))
def test_random_delimiters_give_operations_in_order(data: bytes) -> None:
    test_random_bytes_give_operations_in_order.hypothesis.inner_test(data)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("source", "value"),
    [
        (b"(\\101\\7\\0053)", b"A\x07\x053"),  # ISO 32000-2, 7.3.4.2: one to three octal digits
        (b"(two \\\r\nlines)", b"two lines"),
        (b"(end\r\nof line)", b"end\nof line"),
        (b"(\\n\\r\\t\\b\\f\\(\\)\\\\\\x)", b"\n\r\t\b\f()\\x"),
        (b"<901FA>", b"\x90\x1f\xa0"),  # 7.3.4.3, the standard's own example
        (b"(((((((deep)))))))", b"((((((deep))))))"),
        (b"/Name#20with", Name("/Name with")),
        (b"/", Name("/")),
        (b"--5", -5.0),
        (b"1.2.3", 1.2),
        (b".", 0.0),
        (b"+.5", 0.5),
        (b"9" * 400, tokens.LARGEST_NUMBER),
    ],
)
def test_operand_values(source: bytes, value: object) -> None:
    assert operands(source) == [value]


@pytest.mark.parametrize(
    ("damaged", "expected"),
    [
        (b"1 0 0 rg ) 2 w", [b"rg", b"w"]),
        (b"q \x80\x81 Q", [b"q", b"Q"]),
        (b"((((((((eight)))))))) Tj Q", [b"Tj", b"Q"]),
        (b"q } < zz Q", [b"q", b"zz", b"Q"]),
        (b"q (never closed Q", [b"q"]),
        (b"q 1 2 3 % end", [b"q"]),
        (b"0 0m 5 5l S", [b"m", b"l", b"S"]),
    ],
)
def test_damage_is_stepped_over(damaged: bytes, expected: list[bytes]) -> None:
    assert [step.operator for step in operators(damaged)] == expected


def image(source: bytes) -> Operation:
    before, found, after = operators(b"q " + source + b" Q")
    assert (before.operator, found.operator, after.operator) == (b"q", b"BI", b"Q")
    assert found.end - found.start == len(source) + 1
    return found


def test_unfiltered_inline_image_is_measured_not_searched() -> None:
    samples = b"\x00 EI q\xff E"
    found = image(b"BI /W 3 /H 3 /BPC 8 /CS /G ID " + samples[:9] + b"\nEI")
    assert found.image == samples[:9]
    assert image_entries(found.raw)["/Width"] == 3.0


@pytest.mark.parametrize("gap", [b"\n", b"\r\n", b" "])
def test_one_bit_mask_rows_are_whole_bytes(gap: bytes) -> None:
    found = image(b"BI /W 9 /H 2 /IM true ID" + gap + b"\x01\x02\x03\x04" + b"\nEI")
    assert found.image == b"\x01\x02\x03\x04"


def test_filtered_inline_image_ends_at_an_ei_before_plain_text() -> None:
    data = b"\xf0\x9f EI \x80\x90 stays in"
    found = image(b"BI /W 8 /H 8 /BPC 8 /CS /G /F /DCT ID " + data + b"\nEI")
    assert found.image == data
    assert image_entries(found.raw)["/Filter"] == "/DCT"


def test_inline_image_of_impossible_size_is_searched_for() -> None:
    found = image(b"BI /W 999999999 /H 999999999 /BPC 9999999 /CS /CMYK ID abc\nEI")
    assert found.image == b"abc"


class Counted:
    """A pattern that counts its calls and the bytes its matches cover."""

    def __init__(self, pattern: re.Pattern[bytes]) -> None:
        self.pattern, self.calls, self.covered = pattern, 0, 0

    def match(self, data: bytes, position: int) -> re.Match[bytes] | None:
        self.calls += 1
        found = self.pattern.match(data, position)
        self.covered += found.end() - position if found else 0
        return found

    def scanner(self, data: bytes, position: int) -> Counted.Scanner:
        return Counted.Scanner(self, data, position)

    class Scanner:
        def __init__(self, counted: Counted, data: bytes, position: int) -> None:
            self.counted, self.data, self.position = counted, data, position

        def match(self) -> re.Match[bytes] | None:
            found = self.counted.match(self.data, self.position)
            self.position = found.end() if found else self.position
            return found


HOSTILE: dict[str, Callable[[int], bytes]] = {
    "open strings": lambda n: b"(" * n,
    "deep strings": lambda n: b"((((((((a))))))))" * (n // 17),
    "operands only": lambda n: b"1 " * (n // 2),
    "operators only": lambda n: b"m " * (n // 2),
    "junk": lambda n: b"\x80 } " * (n // 4),
    "open hex": lambda n: b"<1" * (n // 2),
    "open dictionaries": lambda n: b"<<" * (n // 2),
    "images without end": lambda n: b"BI ID \x80 " * (n // 8),
    "BI alone": lambda n: b"BI " * (n // 3),
    "false ends": lambda n: b"BI ID" + b" EI \xff" * (n // 5),
    "escapes": lambda n: b"(\\" * (n // 2),
    "paths without end": lambda n: b"1 1 l " * (n // 6),
    "broken paths": lambda n: b"1 1 m 2 2 l \x80 ] " * (n // 16),
    "paths of one operator": lambda n: b"h [" * (n // 3),
}


@pytest.mark.parametrize("taken", [IN_STEPS, PLAIN, WITH_NUMBERS])
@pytest.mark.parametrize("make", HOSTILE.values(), ids=HOSTILE.keys())
def test_work_grows_no_faster_than_the_stream(
    make: Callable[[int], bytes], taken: Paths, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counts attempts and bytes matched, not seconds: both stay under a multiple of the length."""
    data = make(30_000)
    counted = [Counted(getattr(tokens, key)) for key in ("OPERANDS", "JUNK")]
    for key, pattern in zip(("OPERANDS", "JUNK"), counted, strict=True):
        monkeypatch.setattr(tokens, key, pattern)
    counted += [Counted(taken.alone), Counted(taken.operation)]
    for step in operators(data, Paths(*counted[2:])):  # type: ignore[arg-type]
        operands(step.raw)
    assert sum(pattern.calls for pattern in counted) <= 2 * len(data) + 10
    assert sum(pattern.covered for pattern in counted) <= 3 * len(data) + 10


def test_nesting_beyond_the_limit_is_dropped() -> None:
    value: object = operands(b"[" * 5000 + b"1" + b"]" * 5000)
    depth = 0
    while isinstance(value, list) and value:
        value, depth = value[0], depth + 1
    assert depth == tokens.NEST_LIMIT + 1
