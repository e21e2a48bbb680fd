"""Files that ask for too much end as unreadable, with the limit and the number met.

They are those of `python -m tests.hostile`, smaller, under limits that are smaller by as much. The
numbers follow from how each is made.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from prepcheck.art.limits import Limits
from prepcheck.findings import Severity, Status
from prepcheck.run.answer import Task
from prepcheck.run.part import examine_part
from prepcheck.run.settings import Resolution, Settings
from prepcheck.spec.load import load_spec
from tests.hostile import files

UNREADABLE = "file.unreadable"


def said(folder: Path, data: bytes, limits: Limits, spec: str = "label-12in") -> list[str]:
    """Return what `file.unreadable` says of a part that is examined coarsely under limits."""
    path = folder / "art.bin"
    path.write_bytes(data)
    coarse = Settings(view=Resolution(72.0, 6e4), inset=Resolution(72.0, 1e4), art=limits)
    task = Task("part", path.name, path, (load_spec(spec),), "the order", settings=coarse)
    answer = examine_part(task)
    assert answer.proof is not None
    part = answer.proof.result
    assert not [one for one in part.outcomes if one.status is Status.CRASHED]
    return [
        f"{one.severity.value}: {one.message}" for one in part.findings if one.check == UNREADABLE
    ]


@pytest.mark.parametrize(
    ("data", "limits", "words"),
    [
        (lambda: files.saves(300_000), Limits(stream_bytes=1_000_000),
         "a stream unpacks to more than 1 MB, which is the limit"),
        (lambda: files.spaces(3_000_000), Limits(stream_bytes=1_000_000), "more than 1 MB"),
        (lambda: files.saves(3_000), Limits(operators=5_000),
         "it has 6,000 operators and glyphs to follow, and 5,000 is the limit"),
        (lambda: files.same_rectangles(3_000), Limits(operators=5_000), "and 5,000 is the limit"),
        (lambda: files.content_streams(30), Limits(content_streams=20),
         "the content of a page is in 30 streams, and 20 is the limit"),
        (lambda: files.content_streams_unpacked(9), Limits(stream_bytes=4_000_000),
         "the content of a page unpacks to 4.194 MB, and 4 MB is the limit"),
        (lambda: files.content_streams_unpacked(9), Limits(unpacked_bytes=4_000_000),
         "its streams unpack to 4.194 MB, and 4 MB is the limit"),
        (lambda: files.doubling_forms(12), Limits(forms=100),
         "it draws 101 forms, cells and glyphs drawn like forms, and 100 is the limit"),
        (lambda: files.nested_groups(12), Limits(depth=10),
         "it draws 11 forms one inside the other, and 10 is the limit"),
        (lambda: files.groups_side_by_side(6), Limits(group_pixels=200_000),
         "pixels to paint, and 200,000 is the limit"),
        (lambda: files.nested_groups(12), Limits(held_pixels=15_000),
         "pixels at once, and 15,000 is the limit"),
        (lambda: files.tiny_tiling(1000), Limits(tiling_cells=100_000),
         "a pattern is repeated 62,500,000,000 times, and 100,000 is the limit"),
        (lambda: files.calculator(3_000), Limits(function_operators=2_000),
         "a function has 3,005 operators, and 2,000 is the limit"),
        (lambda: files.calculator(300), Limits(function_steps=20_000),
         "its functions take 20,130 steps to work out, and 20,000 is the limit"),
        (lambda: files.shadings(30), Limits(shadings=20),
         "it paints with 21 different shadings, and 20 is the limit"),
        (lambda: files.shadings(30), Limits(shaded_pixels=50_000),
         "pixels to paint, and 50,000 is the limit"),
        (lambda: files.mesh(300), Limits(mesh_vertices=500),
         "its colour meshes have 1,012 corners, and 500 is the limit"),
        (lambda: files.text_map(300), Limits(map_codes=200),
         "its character maps list 201 codes, and 200 is the limit"),
        (lambda: files.spots(40), Limits(),
         "it asks for 40 plates beside cyan, magenta, yellow and black, and 32 is the limit"),
        (lambda: files.pictures(1, 300), Limits(picture_pixels=50_000), "300 × 300 pixels"),
        (lambda: files.png(300), Limits(picture_pixels=50_000), "300 × 300 pixels"),
    ],
)  # fmt: skip
def test_a_limit_met_ends_the_part(
    tmp_path: Path, data: object, limits: Limits, words: str
) -> None:
    (sentence,) = said(tmp_path, data(), limits)  # type: ignore[operator]
    assert sentence.startswith(f"{Severity.STOP.value}: The file cannot be examined: ")
    assert words in sentence


@pytest.mark.parametrize(
    "data",
    [
        lambda: files.mask_of_itself(1),
        lambda: files.negative_tiling(1),
        lambda: files.groups_side_by_side(6),
        lambda: files.rectangles(300),
        lambda: files.text_shows(40),
        lambda: files.one_picture(300),
    ],
)
def test_what_is_odd_or_heavy_but_can_be_read_is_read(tmp_path: Path, data: object) -> None:
    assert not [one for one in said(tmp_path, data(), Limits()) if "cannot be examined" in one]  # type: ignore[operator]
