"""Layers that do not print, or print though nobody sees them."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.art.model import ArtKind, Content
from prepcheck.findings import Mark, Severity
from prepcheck.geometry import Box
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, PageSaid, Said
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import kept
from prepcheck.words import count

CHECK = "file.layers"
_SOURCE = "ISO 32000-2, 8.11 (optional content); ISO 19593-1 for processing-steps layers"
_PICTURE_SOURCE = "Adobe Photoshop File Formats Specification (layers beside the merged picture)"
MOST_NAMED = 3
"""Layers of a picture that are named."""

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "No hidden or non-printing layers",
        FoundAt.PRINTING,
        (Severity.QUERY, Severity.NOTE),
        "What is on a hidden layer may be an old version, a template, or the very text that was "
        "meant to print. Which of them prints depends on the program that opens the file, so only "
        "the client can say. Layers marked as processing steps (cutting, creasing) are meant to "
        "be kept apart and are no fault.",
        _SOURCE,
        codes=("silent", "unseen", "picture"),
    ),
)


def examine_sheet(exam: Exam, sheet: Sheet) -> PageSaid[None]:
    steps = exam.step_layers
    layers = {layer.name: layer for layer in exam.artwork.document.layers}
    unseen = {n for n, layer in layers.items() if layer.prints and not layer.visible} - steps
    content = sheet.content
    silent = _by_layer(content.hidden) if content.hidden else {}
    printing = {n: boxes for n, boxes in _by_layer(content).items() if n in unseen}
    for code, held, what, required in (
        (
            "silent",
            {n: b for n, b in silent.items() if n not in steps},
            "does not print",
            "printing",
        ),
        ("unseen", printing, "prints though it is hidden on screen", "visible"),
    ):
        if not held:
            continue
        names = ", ".join(f"'{n}' ({count(len(b), 'object')})" for n, b in held.items())
        yield exam.finding(
            CHECK,
            code,
            Severity.QUERY,
            f"{count(len(held), 'layer')} with content that {what}: {names}.",
            "Please delete the layers you do not need, show those that must print, and export "
            "again.",
            source=_SOURCE,
            page=sheet.number,
            measured=what,
            required=required,
            marks=kept(Mark(_around(boxes), name) for name, boxes in held.items()),
        )


def conclude(exam: Exam, seen: Sequence[None]) -> Iterator[Said]:
    if exam.artwork.kind is not ArtKind.PDF:
        yield _of_picture(exam)
        return
    layers = {layer.name for layer in exam.artwork.document.layers}
    why = f"{count(len(layers), 'layer')}, nothing hidden" if layers else "no layers"
    yield Clear(CHECK, why)


def _of_picture(exam: Exam) -> Said:
    """Judge what a picture file carries beside the merged picture, which is what is printed."""
    artwork = exam.artwork
    raster = artwork.raster
    if raster is not None and raster.layers is None:
        why = f"what the {artwork.kind} holds beside the merged picture is damaged"
        return NotApplicable(CHECK, f"cannot be told: {why}", untold=True)
    if raster is None or raster.layers is None or not (raster.layers or raster.guides):
        return NotApplicable(CHECK, f"the {artwork.kind} holds one picture and no layers")
    hidden = [layer.name for layer in raster.layers if not layer.visible]
    live = [layer.name for layer in raster.layers if layer.text and layer.visible]
    held = [
        f"{count(len(names), *kind)} ({', '.join(repr(name) for name in names[:MOST_NAMED])}"
        + (f" and {len(names) - MOST_NAMED} more)" if len(names) > MOST_NAMED else ")")
        for names, kind in (
            (hidden, ("hidden layer",)), (live, ("layer of live type", "layers of live type"))
        )
        if names
    ]  # fmt: skip
    clipped = sum(layer.clipped for layer in raster.layers)
    beside = [
        count(number, kind)
        for number, kind in (
            (len(raster.layers), "layer"), (clipped, "clipping mask"), (raster.guides, "guide"),
        )
        if number
    ]  # fmt: skip
    if not held and len(raster.layers) < 2:
        return Clear(CHECK, f"{' and '.join(beside)}, nothing hidden")
    told = [
        said
        for names, said in (
            (hidden, "what is hidden is not printed"), (live, "type is printed as it was merged")
        )
        if names
    ]  # fmt: skip
    why = f": {' and '.join(told)}." if told else "."
    holds = "; ".join(held) or f"more than the merged picture: {', '.join(beside)}"
    return exam.finding(
        CHECK,
        "picture",
        Severity.QUERY if held else Severity.NOTE,
        f"The {artwork.kind} holds {holds}. Only the merged picture is printed and was checked.",
        "Please see on the proof that the merged picture is the right one, or send a flattened "
        f"copy{why}",
        source=_PICTURE_SOURCE,
        measured=", ".join(beside),
        required="one merged picture",
    )


def _by_layer(content: Content) -> dict[str, list[Box]]:
    held: dict[str, list[Box]] = defaultdict(list)
    for image in content.images:
        if image.layer is not None:
            held[image.layer].append(image.visible or image.quad.box)
    runs = content.type_table
    layers = [style.layer for style in runs.styles]
    for row in np.flatnonzero(runs.where(lambda s: s.layer is not None) & runs.placed).tolist():
        held[layers[runs.style[row]] or ""].append(runs.box(row))
    traits, boxes = content.path_traits, content.path_boxes
    for number, layer in enumerate(traits.layers):
        held[layer] += (Box(*row) for row in boxes[traits.layer == number].tolist())
    for shading in content.shadings:
        if shading.layer is not None:
            held[shading.layer].append(shading.box)
    return dict(sorted(held.items()))


def _around(boxes: list[Box]) -> Box:
    return Box.around(corner for box in boxes for corner in box.corners)
