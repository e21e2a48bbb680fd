"""Walks a page's content: everything it paints, with its place in mm and its paint."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from pypdf.generic import DictionaryObject

from prepcheck.art.limits import DEFAULT, Demand, Limits
from prepcheck.art.model import Content
from prepcheck.art.pdf.colour import ColourSpace
from prepcheck.art.pdf.content.clip import EVERYWHERE, Clip
from prepcheck.art.pdf.content.context import LayerLookup, Walk
from prepcheck.art.pdf.content.interpret import Interpreter
from prepcheck.art.pdf.content.paints import declared_inks
from prepcheck.art.pdf.content.record import Recording
from prepcheck.art.pdf.content.recorder import Recorder
from prepcheck.art.pdf.content.state import State
from prepcheck.art.pdf.content.stream import StreamReading
from prepcheck.art.pdf.objects import entry, numbers
from prepcheck.art.pdf.streams import page_content
from prepcheck.geometry import Affine, Box

__all__ = ["LayerLookup", "recorder_of", "walk_and_record", "walk_page"]

MAX_PARENTS = 60


def walk_page(
    page: DictionaryObject,
    resources: DictionaryObject,
    base: Affine,
    layers: LayerLookup,
    limits: Limits = DEFAULT,
) -> Content:
    """Return everything a page paints.

    `page` is its dictionary, `resources` its own or inherited ones; `base` maps its default user
    space (points, UserUnit included in the map) to the frame asked for, in mm. What lies outside
    the MediaBox or the clip is left out; what stands on layers that do not print, is invisible
    type or wholly clear goes to `Content.hidden`. Damage is told in `Content.troubles`; raises
    UnreadableError only where the content cannot be unpacked, or followed within `limits`.
    """
    return _walked(page, resources, base, Walk(layers, limits), None)[0]


def walk_and_record(
    page: DictionaryObject,
    resources: DictionaryObject,
    base: Affine,
    layers: LayerLookup,
    limits: Limits,
    recorder: Recorder,
) -> tuple[Content, Recording]:
    """Return everything a page paints, as `walk_page`, and its recording for plates: the page is
    followed once for both."""
    walk = Walk(layers, limits)
    content, recording = _walked(page, resources, base, walk, recorder)
    assert recording is not None
    return content, recording


def _walked(
    page: DictionaryObject,
    resources: DictionaryObject,
    base: Affine,
    walk: Walk,
    recorder: Recorder | None,
) -> tuple[Content, Recording | None]:
    limits, clip = walk.limits, Clip(EVERYWHERE)
    media = media_box(page)
    if media is not None and media.area > 0:
        clip = clip.to_box(base.box(media))
    troubles: list[str] = []
    data = page_content(page, limits, troubles)
    for trouble in troubles:
        walk.findings.trouble(trouble)
    state, recording, listener = State(base, clip), None, None
    if recorder is not None:
        recording = recorder.begun_page(page, resources, state)
        listener = StreamReading(recorder, recording, data, state, walk)
    Interpreter(walk, resources, state, listener).run(data)
    content = walk.finish().content(declared_inks(resources, limits))
    return replace(content, grouped=walk.groups.found), recording


def recorder_of(
    layers: LayerLookup,
    limits: Limits = DEFAULT,
    to_inks: Callable[[ColourSpace], ColourSpace] | None = None,
) -> Recorder:
    """Return what records pages of a document for their plates.

    `to_inks` gives spaces without ink amounts the ones they come to in print.
    """
    walk = Walk(layers, limits, Demand.RECORDED)

    def follow(recorder: Recorder, recording: Recording, state: State, data: bytes) -> None:
        with walk.on_no_layer():
            listener = StreamReading(recorder, recording, data, state, walk)
            Interpreter(walk, recording.resources, state, listener, placing=False).run(data)

    return Recorder(layers, limits, follow, to_inks)


def media_box(page: DictionaryObject) -> Box | None:
    """Return a page's own or inherited MediaBox in user space units."""
    holder: object | None = page
    for _ in range(MAX_PARENTS):
        if holder is None:
            return None
        values = numbers(entry(holder, "MediaBox"), 4)
        if values is not None:
            x0, y0, x1, y1 = values
            return Box.around(((x0, y0), (x1, y1)))
        holder = entry(holder, "Parent")
    return None
