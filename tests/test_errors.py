"""What other libraries say, as it stands in reports."""

from __future__ import annotations

import pytest

from prepcheck.errors import itself_failed, said_by


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("cannot identify <_io.BytesIO object at 0x7f3a2c1d4e50>",
         "cannot identify <_io.BytesIO object>"),
        ("<a.B object at 0x7F3A2C1D4E50> and <c at 0x55d0aa>", "<a.B object> and <c>"),
        ("bad marker 0xFFD8 at byte 12", "bad marker 0xFFD8 at byte 12"),
        ("two\n lines", "two lines"),
        ("", "ValueError"),
        ("x" * 300, "x" * 120),
    ],
)  # fmt: skip
def test_addresses_are_no_part_of_a_report(text: str, said: str) -> None:
    assert said_by(ValueError(text)) == said


def test_nor_where_we_failed_ourselves() -> None:
    one, other = (itself_failed(KeyError(object())) for _ in range(2))
    assert one == other == "prepcheck itself failed (KeyError: <object object>)"
