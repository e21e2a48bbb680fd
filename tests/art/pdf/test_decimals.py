"""Numbers read many at once against Python's own `float`, bit for bit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepcheck.art.pdf.content.decimals import decimals

digits = st.text("0123456789", min_size=1, max_size=9)
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
