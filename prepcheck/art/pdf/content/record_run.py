"""Records a run of painted paths at once, as `stream` does an operator at a time."""

from __future__ import annotations

from collections.abc import Sequence
from operator import itemgetter

import numpy as np

from prepcheck.art.pdf.content.cuttings import Cuttings
from prepcheck.art.pdf.content.plain import Indices
from prepcheck.art.pdf.content.record import Event, PaintPath, SetColour
from prepcheck.art.pdf.content.recorder import Recorder
from prepcheck.art.pdf.content.rectangles import corner
from prepcheck.art.pdf.content.runs import Run
from prepcheck.art.pdf.content.state import Colour


def record_run(
    run: Run,
    colours: Sequence[Colour | None],
    paintings: Sequence[PaintPath | None],
    which: Indices,
    recorder: Recorder,
    cuttings: Cuttings,
) -> None:
    """Cut a run's stream at what copies change: colours, rectangles, and painting of which some
    leave something out. Whatever is raised leaves no trace in it."""
    changes: list[tuple[int, int, Event | None, bytes | None]] = []
    settings = run.settings
    made: dict[tuple[int, bool], SetColour] = {}
    for colour, operator, start, end in zip(
        colours, settings.operators, settings.starts, settings.ends, strict=True
    ):
        if colour is not None:
            key = id(colour), operator.isupper()
            setting = made.get(key)
            if setting is None:
                setting = made[key] = recorder.colour(colour, key[1])
            changes.append((start, end, setting, None))
    parted = np.array([one is not None for one in paintings], np.bool_)
    rows = np.flatnonzero(run.rectangles | parted[which])
    data = cuttings.data
    for at, begin, start, end in zip(
        rows.tolist(), run.begins[rows].tolist(), run.starts[rows].tolist(),
        run.ends[rows].tolist(), strict=True,
    ):  # fmt: skip
        first = corner(data[begin:start]) if run.rectangles[at] else None
        changes.append((start, end, paintings[which[at]], first))
    if len(rows):
        changes.sort(key=itemgetter(0))
    for start, end, event, first in changes:
        if first is not None:
            cuttings.edge(start, first)
        if event is not None:
            cuttings.replace(start, end, event)
