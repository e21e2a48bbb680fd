"""Runs of paths that are cut by arrays come out, and are recorded, as when followed in steps.

That what is followed in steps is right is held against other readers in `test_walk_paths`.
"""

from __future__ import annotations

import io
import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from prepcheck.art.limits import DEFAULT
from prepcheck.art.model import Content
from prepcheck.art.pdf.content import runs
from prepcheck.art.pdf.content.record import Event, Recording
from prepcheck.art.pdf.content.walk import recorder_of, walk_and_record
from prepcheck.art.pdf.layers import read_layers
from tests.art.pdf.walking import IN_MM
from tests.factories import Pdf, Stream

numbers = st.one_of(
    st.sampled_from(["10", "20", ".5", "5.", "+3", "-0", "12.25", "99.123456789012345"]),
    st.integers(-50, 250).map(str),
)
shares = st.sampled_from(["0", "1", ".25", "0.50", ".5"])


def step(name: str, count: int, values: st.SearchStrategy[str] = numbers) -> st.SearchStrategy[str]:
    return st.lists(values, min_size=count, max_size=count).map(lambda v: " ".join([*v, name]))


construction = st.one_of(
    step("m", 2), step("l", 2), step("c", 6), step("v", 4), step("y", 4), step("h", 0),
    step("re", 4),
)  # fmt: skip
painting = st.sampled_from(["f", "f", "f*", "F", "S", "s", "B", "B*", "b", "b*"])
whole = st.tuples(
    st.one_of(step("m", 2), step("re", 4)), st.lists(construction, max_size=5), painting
).map(lambda parts: "\n".join([parts[0], *parts[1], parts[2]]))
setting = st.one_of(
    step("k", 4, shares), step("K", 4, shares), step("rg", 3, shares), step("g", 1, shares),
    step("G", 1, shares), step("scn", 1, shares), step("SC", 4, shares), step("w", 1),
    st.sampled_from(["[] 0 d", "[2 1] 0 d", "[ .5 ]0 d", "1 J", "2 J", "1 j", "4 M", "1 i"]),
    st.sampled_from([
        "/Spot cs .5 scn", "/Spot CS", "/Twin cs", "/Twin CS .25 SC", "/Over gs", "/Off gs",
        "/Drawn gs", "/Faint gs", "/Normal gs", "/Multiply gs",
    ]),
)  # fmt: skip
other = st.sampled_from([
    "q", "Q", ".9 .1 -.2 1.1 1 1 cm", "900000 0 0 900000 0 0 cm", "/Pattern cs /Tiling scn",
    "/Spot cs", "/Spot CS", "/Over gs", "20 20 150 100 re W n", "/Fm Do", "10 10 m", "5 l", "n",
    "60 60 m 150 80 l 100 170 l h W n", "1-2 0 m 9 9 l f", "1 2 3 k", "(9 9 m) Tj", "[3] w",
    "9999999999 0 m 3 3 l S", "1e9 w", "- 5 m", "%", "cm", "3 j 4 4 h f", "1 1 1 rg1 1 m",
    "/None gs", "/None cs", "/Over 1 gs", "/Spot .5 scn", "/Over [] gs", "gs", "/Pattern CS 1 SC",
    "/Spot cs/Over gs 1 0 0 rg", "/Over/Off gs", "1 /Spot cs", "/Sp#6ft cs",
])  # fmt: skip
streams = st.lists(st.one_of(whole, whole, whole, setting, setting, other), max_size=30)


Followed = tuple[Content, list[bytes | Event], list[bytes | Event], object]


def joined(recording: Recording) -> list[bytes | Event]:
    pieces: list[bytes | Event] = []
    for piece in recording.pieces:
        if isinstance(piece, bytes) and pieces and isinstance(pieces[-1], bytes):
            pieces[-1] += piece
        else:
            pieces.append(piece)
    return pieces


def followed(stream: str) -> Followed:
    """Return what a page places, its recording, that for plates alone, and what these tell."""
    pdf = Pdf()
    form = {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 50, 50]}
    cell = {
        "Type": "Pattern", "PatternType": 1, "PaintType": 1, "TilingType": 1, "BBox": [0, 0, 9, 9],
        "XStep": 10, "YStep": 10,
    }  # fmt: skip
    tint = {
        "FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0], "C1": [0, 1, 0.5, 0], "N": 1,
    }  # fmt: skip
    resources = {
        "XObject": {"Fm": pdf.add(Stream(b"10 10 20 20 re f 1 0 0 rg 0 0 m 9 9 l S ", form))},
        "Pattern": {"Tiling": pdf.add(Stream(b"0 0 3 3 re f", cell))},
        "ColorSpace": {
            "Spot": ["/Separation", "/Sea", "/DeviceCMYK", tint],
            "Twin": ["/Separation", "/Sea", "/DeviceCMYK", {**tint, "C1": [1, 0, 0.5, 0]}],
        },
        "ExtGState": {
            "Over": {"op": True, "OP": True, "OPM": 1},
            "Off": {"op": False, "OP": False},
            "Drawn": {"LW": 3, "LC": 1, "LJ": 1, "ML": 4, "D": [[2, 1], 0]},
            "Faint": {"ca": 0.5, "CA": 0.25},
            "Normal": {"BM": "/Normal", "SMask": "/None", "ca": 1, "CA": 1},
            "Multiply": {"BM": "/Multiply"},
        },
    }
    pdf.page("", (80, 80), resources=resources, Contents=pdf.add(Stream(stream.encode("ascii"))))
    reader = PdfReader(io.BytesIO(pdf.bytes()))
    page, layers = reader.pages[0], read_layers(reader.root_object)
    limits = DEFAULT.opened()
    recorder = recorder_of(layers, limits)
    content, recording = walk_and_record(
        page, page["/Resources"], IN_MM, layers, limits, recorder  # type: ignore[arg-type]
    )  # fmt: skip
    alone = recorder_of(layers, limits)
    for_plates = alone.page(page, page["/Resources"], stream.encode("ascii"))  # type: ignore[arg-type]
    told = [
        (
            [*survey.plates],
            [*survey.spots],
            survey.sets,
            [*survey.troubles],
            [*survey.limits],
            survey.looks,
            survey.apart,
        )
        for survey in (recorder.survey, alone.survey)
    ]
    takes = recording.takes_colour, for_plates.takes_colour
    return content, joined(recording), joined(for_plates), (told, takes)


def in_runs_and_in_steps(stream: str) -> tuple[object, object]:
    found = []
    for fewest in (1, 10**9):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(runs, "FEWEST", fewest)
            patch.setattr(runs, "_BEGINNING", re.compile(b""))
            patch.setattr(runs, "SHORTEST", 1)
            content, pieces, for_plates, told = followed(stream)
        hidden = content.hidden and [*content.hidden.paths]
        found.append((
            repr([*content.paths]), repr(hidden), content.inks, content.troubles, content.slivers,
            repr(pieces), repr(for_plates), repr(told),
        ))  # fmt: skip
    return found[0], found[1]


@settings(deadline=None, max_examples=300)
@given(streams, st.sampled_from([" ", "\n", "\r\n  "]))
@example(["1 0 0 rg", "/Spot cs", ".5 scn", "1 1 m 5 9 l 7 3 l f", ".2 scn", "9 9 9 9 re f"], " ")
@example(["9 9 m 9 40 l S", "1 w", "[3] 0 d", "20 9 m 20 40 l S", "2 J", "3 3 m 9 9 l s"], "\n")
@example(["1 1 m 5 9 l f", "/Pattern cs /Tiling scn", "1 1 m 5 9 l f", "0 g 2 2 4 4 re f"], " ")
@example(["/Over gs", "0 1 0 0 k 1 1 5 5 re f", "0 0 1 0 k 3 3 5 5 re f"], " ")
@example(["/Spot cs", "1 scn", "1 1 5 5 re f", "/Twin cs", "1 scn", "3 3 5 5 re f"], " ")
@example(["/Over gs", "/Spot cs", "1 1 5 5 re f", "/Off gs", "1 scn", "3 3 5 5 re f"], " ")
def test_runs_are_followed_as_in_steps(operations: list[str], gap: str) -> None:
    in_runs, in_steps = in_runs_and_in_steps(gap.join(operations) + gap)
    assert in_runs == in_steps


LINES = "{fill} 0 0 rg\n{at} w {x} 30 m 30 40 l 50 60 l {by}\n"
CURVES = (
    "{fill} 0 0 rg {x}.03000000000003 10 m "
    + "{x}.29989431457506 9.89431457506 {at}.19567600000001 9.75999999999999 60 9.7599999999999 c "
    * 4
    + "h {by}\n"
)


@pytest.mark.parametrize("path", [LINES, CURVES])
def test_long_streams_are_followed_in_runs(monkeypatch: pytest.MonkeyPatch, path: str) -> None:
    """What is set goes on through the cuts, which come where the greatest length has it."""
    stream = "q .3 0 0 .3 0 0 cm 0 0 1 rg " + "".join(
        path.format(fill=at % 7 / 8, at=at % 5, x=at % 200, by="fsB"[at % 3])
        + "q 1 0 0 RG Q /None gs " * (at % 500 == 499)
        for at in range(2_000)
    )
    taken = []
    cut = runs.run_at

    def noted(data: bytes, position: int, most: int, placing: bool) -> runs.PathRun | None:
        run = cut(data, position, most, placing)
        taken.append(0 if run is None else len(run.by))
        return run

    monkeypatch.setattr(runs, "run_at", noted)
    monkeypatch.setattr(runs, "LONGEST", 100_000)
    in_runs = followed(stream)
    # Of 4,000, half for places and plates and half for plates alone; short rests go in steps.
    assert sum(taken) > 3_000
    monkeypatch.setattr(runs, "FEWEST", 10**9)
    assert followed(stream) == in_runs
    assert len(in_runs[0].paths) == 2_000
