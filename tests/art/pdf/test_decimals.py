"""Numbers read many at once against Python's own `float`, bit for bit."""

from __future__ import annotations

import random
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.art.pdf.content.decimals import decimals, with_ends

digits = st.text("0123456789", min_size=1, max_size=12)
written = st.one_of(
    st.tuples(st.sampled_from(["", "-", "+"]), digits, st.sampled_from(["", "."]), digits),
    st.tuples(st.sampled_from(["", "-", "+"]), st.sampled_from(["."]), digits),
    st.tuples(digits, st.sampled_from(["."])),
).map("".join)


@given(st.lists(written, max_size=12), st.sampled_from([" ", "\n", "\r\n ", "\t"]))
def test_numbers_are_those_of_float(numbers: list[str], gap: str) -> None:
    text = (gap + gap.join(numbers)).encode()
    expected = np.array([float(number) for number in numbers], np.float64)
    assert decimals(text).tobytes() == expected.tobytes()


@pytest.mark.parametrize(
    "text", [b"", b"0", b"-0 +0 -.0 0.", b"317.07666666666665 1", b"999999999999999 0.1", b"9" * 30]
)
def test_few_and_long_numbers(text: bytes) -> None:
    expected = np.array([float(number) for number in text.split()], np.float64)
    assert decimals(text).tobytes() == expected.tobytes()


def test_numbers_of_all_the_digits_that_programs_write() -> None:
    """Their quotients are rounded twice: some of so many are halfway after the first time."""
    source = random.Random(1)
    numbers = [repr(source.random() * 600) for _ in range(60_000)]
    expected = np.array([*map(float, numbers)], np.float64)
    assert decimals(" ".join(numbers).encode()).tobytes() == expected.tobytes()


@given(st.lists(st.text("0123456789.+- ", min_size=1, max_size=6), max_size=8))
def test_words_that_are_no_numbers_are_refused(words: list[str]) -> None:
    text = " ".join(words)
    try:
        expected = [*map(float, text.split())]
    except ValueError:
        with pytest.raises(ValueError, match=r"no number|could not convert"):
            with_ends(text.encode())
        return
    found, ends = with_ends(text.encode())
    assert found.tolist() == expected
    assert ends.tolist() == [match.end() for match in re.finditer(r"\S+", text)]
