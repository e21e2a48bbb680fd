"""The arrays that content offers of its paths, against the paths themselves."""

from __future__ import annotations

import numpy as np

from prepcheck.art.model import Content
from tests.art.pdf.walking import walked
from tests.factories import one_page

ART = """
q 1 0 0 rg 10 10 20 20 re 12 12 5 5 re f 0 0 1 1 k 60 60 m 70 70 l 75 60 l S Q
1 0 0 rg 30 30 m 50 40 60 60 70 30 c h B
q 100 100 50 50 re W n 90 90 30 30 re f Q
"""


def test_arrays_say_what_the_paths_say() -> None:
    content = walked(one_page(ART, (200, 200)))
    paths, traits, outlines = content.paths, content.path_traits, content.path_outlines
    assert len(paths) == 4
    assert content.path_boxes.tolist() == [list(path.box) for path in paths]
    assert traits.stroke_mm.tolist() == [path.stroke_mm for path in paths]
    assert traits.clipped.tolist() == [path.clipped for path in paths] == [False] * 3 + [True]
    assert traits.runs.tolist() == [2, 1, 1, 1]
    for numbers, own in (
        (traits.fill, [path.fill for path in paths]),
        (traits.stroke, [path.stroke for path in paths]),
    ):
        found = [None if at < 0 else traits.paints[at] for at in numbers.tolist()]
        assert found == own
    runs = [run for path in paths for run in path.segments]
    cuts = np.split(outlines.points, outlines.starts[1:-1])
    assert [tuple(cut.ravel().tolist()) for cut in cuts] == [tuple(run) for run in runs]
    assert outlines.path.tolist() == [0, 0, 1, 2, 3]


def test_arrays_of_an_empty_page_are_empty() -> None:
    content = Content()
    assert content.path_boxes.shape == (0, 4)
    assert content.path_traits.fill.shape == (0,)
    assert content.path_outlines.points.shape == (0, 2)
    assert content.path_outlines.starts.tolist() == [0]
    assert content.path_outlines.path.shape == (0,)
