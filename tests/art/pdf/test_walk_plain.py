"""Paths read whole and placed many at once come out as those followed step by step.

A comment in front of every operator keeps the walk from reading any path whole.
"""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from prepcheck.art.limits import DEFAULT, Limits
from prepcheck.art.model import Content
from prepcheck.art.pdf.content import painted
from prepcheck.errors import BudgetError
from prepcheck.geometry import Box
from tests.art.pdf.walking import walked
from tests.factories import Pdf, Stream

numbers = st.one_of(
    st.sampled_from(["10", "20", "20", "30", "-5", ".5", "5.", "+3", "-0", "0", "12.25"]),
    st.integers(-50, 250).map(str),
    st.decimals(-20, 220, places=3).map(lambda d: f"{d:f}"),
)
wrong = st.sampled_from(["--5", "1.2.3", "9999999999", "1e3", "/N", "(s)", "999999999", ".", "-"])
odd = st.one_of(numbers, wrong)


def step(name: str, count: int, values: st.SearchStrategy[str] = numbers) -> st.SearchStrategy[str]:
    return st.lists(values, min_size=count, max_size=count).map(lambda v: " ".join([*v, name]))


construction = st.one_of(
    step("m", 2), step("l", 2), step("l", 2), step("c", 6), step("v", 4), step("y", 4),
    step("h", 0), step("re", 4),
)  # fmt: skip
damaged = st.one_of(
    step("l", 2, odd), step("c", 6, odd), step("m", 1), step("l", 3), step("h", 1),
    st.sampled_from(["W", "W*", "q", "foo", "1 0 0 1 3 3 cm"]),
)  # fmt: skip
painting = st.sampled_from(["f", "f", "f*", "F", "S", "s", "B", "B*", "b", "b*", "n"])
whole = st.tuples(
    st.one_of(step("m", 2), step("re", 4)), st.lists(construction, max_size=6), painting
).map(lambda parts: [parts[0], *parts[1], parts[2]])
broken = st.tuples(st.lists(st.one_of(construction, damaged), max_size=5), painting).map(
    lambda parts: [*parts[0], parts[1]]
)
state = st.sampled_from(
    [
        "q", "Q", "0.9 0.1 -0.2 1.1 1 1 cm", "0 1 -1 0 200 0 cm", "900000 0 0 900000 0 0 cm",
        "0.2 0.3 0.4 0.1 k", "0.5 G", "/Pattern cs /Tiling scn", "/Clear gs", "/Solid gs",
        "0.5 w", "0 w", "1 J", "0 J", "[2] 0 d", "[] 0 d", "20 20 150 100 re W n",
        "60 60 m 150 80 l 100 170 l h W n", "/Fm Do", "/Gone Do",
    ]
).map(lambda source: [source])  # fmt: skip
streams = st.lists(st.one_of(whole, whole, whole, state, broken), max_size=14).map(
    lambda parts: [operation for part in parts for operation in part]
)


def content_of(stream: str, limits: Limits = DEFAULT) -> Content:
    pdf = Pdf()
    form = pdf.add(
        Stream(b"10 10 20 20 re f", {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 50, 50]})
    )
    tiling = pdf.add(
        Stream(
            b"0 0 3 3 re f",
            {
                "Type": "Pattern", "PatternType": 1, "PaintType": 1, "TilingType": 1,
                "BBox": [0, 0, 9, 9], "XStep": 10, "YStep": 10,
            },
        )
    )  # fmt: skip
    resources = {
        "XObject": {"Fm": form},
        "Pattern": {"Tiling": tiling},
        "ExtGState": {"Clear": {"ca": 0, "CA": 0}, "Solid": {"ca": 1, "CA": 1}},
    }
    pdf.page(stream, (80, 80), resources=resources)
    return walked(pdf.bytes(), limits=limits)


ROUNDING_MM = 1e-9
"""Of sums that numpy takes in another order of many than of one."""


def facts(content: Content | None) -> object:
    """Return all of a content that a path can bear on, but for the boxes of the paths."""
    if content is None:
        return None
    paths = [path._replace(box=Box(0, 0, 0, 0)) for path in content.paths]
    return paths, content.inks, content.troubles, facts(content.hidden)


def boxes(content: Content | None) -> list[float]:
    """Return the corners of all boxes of paths."""
    own = [at for path in content.paths for at in path.box] if content is not None else []
    return own + (boxes(content.hidden) if content is not None else [])


@settings(deadline=None)
@given(streams, st.sampled_from([0, 2, 100]), st.sampled_from([" ", "\n", "\r\n  "]))
@example(["900000 0 0 900000 0 0 cm", "900000 0 0 900000 0 0 cm", "10 10 m", "S"], 0, " ")
@example(["10 10 m", "f", "10 10 m", "f", "229 10 m", "10 -2 l", "S"], 0, " ")
def test_paths_read_whole_are_those_followed_step_by_step(
    operations: list[str], few: int, gap: str
) -> None:
    careful = content_of("".join(f"%\n{operation} " for operation in operations))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(painted, "FEW", few)
        found = content_of(gap.join(operations))
    assert facts(found) == facts(careful)
    assert boxes(found) == pytest.approx(boxes(careful), abs=ROUNDING_MM)


@settings(deadline=None)
@given(streams, st.integers(1, 60))
def test_operators_count_alike(operations: list[str], most: int) -> None:
    def ends(stream: str) -> bool:
        try:
            content_of(stream, Limits(operators=most))
        except BudgetError:
            return True
        return False

    careful = ends("".join(f"%\n{operation} " for operation in operations))
    assert ends("\n".join(operations)) is careful


def test_many_paths_wait_no_longer_than_their_source_allows(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stream = "\n".join(f"{x} 10 m {x + 1} 30 {x} 40 {x + 5} 50 c s" for x in range(60))
    one_by_one = content_of(stream.replace("\n", " BT ET ")).paths
    monkeypatch.setattr(painted, "MOST_BYTES", 500)
    assert content_of(stream).paths == one_by_one
    assert len(one_by_one) == 60


def test_lines_cannot_be_written_to() -> None:
    paths = content_of("1 1 m 9 9 l 9 1 l f\n" * 50).paths
    assert paths[0].segments[0] == paths[49].segments[0]
    with pytest.raises(ValueError, match="read-only"):
        paths[0].lines()[0][:] = 0
