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
from prepcheck.art.pdf.content.runs import PathRun, SettingColumns
from prepcheck.art.pdf.content.state import StateColour


def events_of(
    settings: SettingColumns, colours: Sequence[StateColour | None], recorder: Recorder
) -> list[SetColour | None]:
    """Return what the colour that each different setting sets comes to, if it sets one."""
    return [
        None if colour is None else recorder.colour(colour, operator.isupper())
        for colour, (operator, _) in zip(colours, settings.different, strict=True)
    ]


def record_run(
    run: PathRun,
    events: Sequence[SetColour | None],
    paintings: Sequence[PaintPath | None],
    which: Indices,
    cuttings: Cuttings,
) -> None:
    """Cut a run's stream at what copies change: colours, of which each different setting has its
    event, rectangles, and painting of which some leave something out."""
    settings = run.settings
    is_set = np.array([event is not None for event in events], np.bool_)[settings.which]
    starts, ends = settings.starts[is_set].tolist(), settings.ends[is_set].tolist()
    set_by = [event for at in settings.which[is_set].tolist() if (event := events[at])]
    parted = np.array([one is not None for one in paintings], np.bool_)
    rows = np.flatnonzero(run.rectangles | parted[which])
    if not len(rows):
        cuttings.replace_all(starts, ends, set_by)
        return
    changes: list[tuple[int, int, Event | None, bytes | None]] = [
        (start, end, event, None) for start, end, event in zip(starts, ends, set_by, strict=True)
    ]
    data = cuttings.data
    for at, begin, start, end in zip(
        rows.tolist(), run.begins[rows].tolist(), run.starts[rows].tolist(),
        run.ends[rows].tolist(), strict=True,
    ):  # fmt: skip
        first = corner(data[begin:start]) if run.rectangles[at] else None
        changes.append((start, end, paintings[which[at]], first))
    changes.sort(key=itemgetter(0))
    for start, end, event, first in changes:
        if first is not None:
            cuttings.edge(start, first)
        if event is not None:
            cuttings.replace(start, end, event)
