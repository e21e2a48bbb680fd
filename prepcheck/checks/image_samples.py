"""What the samples of a picture tell: enlarged before it was placed, or damaged by compression.

Both findings need the decoded samples, so each picture is decoded once for the two.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import ImageItem, Samples
from prepcheck.findings import Mark, Severity
from prepcheck.measure.detail import Estimate, Method, true_share
from prepcheck.measure.jpeg_quality import quality_of, scale_percent
from prepcheck.measure.jpeg_trace import Trace, traced_quality
from prepcheck.measure.traces import LARGE_TILE
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.assembled import assembled
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.judged_pictures import is_one_bit, judged_pictures, wholes
from prepcheck.sheets.surroundings import kept
from prepcheck.spec.model import TOLERANCE_PPI
from prepcheck.words import count, listed

ENLARGED = "image.enlarged"
COMPRESSION = "image.compression"

LEAST_QUALITY = 60
"""Lowest quality on the IJG scale that does not show at the wanted resolution: common practice,
no source."""
NEARLY = 3
"""By how much a quality read from samples may be off."""
MOST_PICTURES = 24
"""Pictures judged a page, the largest in print first."""
_COMPRESSION_SOURCE = (
    "ITU-T T.81, Annex K tables as the IJG library scales them; the threshold is common practice, "
    "no source"
)

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        ENLARGED,
        "Pictures were not enlarged beforehand",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "Pixels added by enlarging a picture hold no detail: the file says 300 ppi and the print "
        "looks like 100. The trace that enlarging leaves in the spectrum tells by how much; soft "
        "and noisy photographs do not have it. In flat art the edges tell as well: a step that is "
        "drawn at its size goes from one colour to the other within one or two pixels.",
        "resampling detection by periodicity (Gallagher 2005, from memory), own implementation; "
        "the spread of drawn edges from art drawn for it; limits as for image.resolution",
        codes=("enlarged",),
        limits=("images.continuous.wanted_ppi",),
    ),
    Declaration(
        COMPRESSION,
        "No visible JPEG damage",
        FoundAt.PRINTING,
        (Severity.QUERY,),
        "A picture squeezed for the web shows squares and fringes round edges in print. The "
        "quantisation tables in the file say how hard it was squeezed, or the pixels themselves "
        "where it was saved again since; at a very high resolution the damage is too small to "
        "see.",
        _COMPRESSION_SOURCE,
        codes=("compressed",),
        limits=("images.continuous.wanted_ppi",),
    ),
)


_Facts = tuple[Estimate, Trace]
_UNREAD: _Facts = (
    Estimate(1.0, Method.NONE, 0.0, False, "its samples cannot be read"), Trace(None, False),
)  # fmt: skip
_LITTLE = "too little stands in it for a trace of what was done"


class _Seen(NamedTuple):
    item: ImageItem
    estimate: Estimate
    trace: Trace


def examine(exam: Exam) -> Iterator[Said]:
    seen = [(sheet, list(_look(exam, sheet))) for sheet in exam.sheets]
    yield from _enlarged(exam, seen)
    yield from _compressed(exam, seen)


def _look(exam: Exam, sheet: Sheet) -> Iterator[_Seen]:
    items = [item for item in judged_pictures(exam, sheet) if not is_one_bit(item)]
    items = [item for item in items if item.key or exam.is_raster]
    groups = sorted(wholes(items), key=lambda group: -sum(map(_area, group)))
    known: dict[int, _Facts] = {}
    judged = 0
    for group in groups:
        own = [_Seen(item, *facts) for item in group if (facts := known.get(item.key)) is not None]
        if len(own) < len(group) and judged < MOST_PICTURES:
            judged += 1
            own = _of_group(exam, sheet, group, known)
        yield from own


def _area(item: ImageItem) -> float:
    return item.visible.area if item.visible else 0.0


def _of_group(
    exam: Exam, sheet: Sheet, group: list[ImageItem], known: dict[int, _Facts]
) -> list[_Seen]:
    """Return what the samples say of pictures that are parts of one, or of one alone; of parts
    that are too small to tell by themselves it is told together."""
    own: list[_Seen] | None = None
    if len(group) == 1 or min(min(item.samples) for item in group) >= LARGE_TILE:
        own = _of_each(exam, sheet, group, known)
        told = all(seen.estimate.judged for seen in own)
        if len(group) == 1 or told or any(seen.estimate.share < 1 for seen in own):
            return own
    whole = assembled(group, sheet.page.picture)
    if whole is not None:
        return [_Seen(whole.item, *_judge(exam, whole.samples))]
    return _of_each(exam, sheet, group, known) if own is None else own


def _of_each(
    exam: Exam, sheet: Sheet, group: list[ImageItem], known: dict[int, _Facts]
) -> list[_Seen]:
    """Return what pictures' samples say, each decoded once and alone; of many, the largest. Of one
    that cannot be decoded it is said that nothing can be told."""
    found = []
    for item in sorted(group, key=lambda item: -_area(item))[:MOST_PICTURES]:
        if item.key not in known:
            samples = sheet.page.picture(item.key)
            known[item.key] = _UNREAD if samples is None else _judge(exam, samples)
        found.append(_Seen(item, *known[item.key]))
    return found


def _judge(exam: Exam, samples: Samples) -> _Facts:
    tables = samples.jpeg_tables
    if not tables and exam.artwork.raster is not None:
        tables = exam.artwork.raster.jpeg_tables

    def lightness(part: NDArray[np.uint8]) -> NDArray[np.uint8]:
        return lightness_of(replace(samples, data=part))

    stated, traced = quality_of(tables), traced_quality(samples.data, lightness)
    return true_share(samples.data, lightness), _hardest(stated, traced)


def _hardest(stated: int | None, traced: Trace) -> Trace:
    """Return the lower quality of what the tables state and what the samples show; where it may be
    the same compression the tables are right."""
    if traced.quality is None:
        # Tables that are coarse enough tell by themselves.
        return Trace(stated, traced.judged or (stated is not None and stated < LEAST_QUALITY))
    if stated is not None and traced.quality >= stated - NEARLY:
        return Trace(stated, True)
    return traced


def lightness_of(samples: Samples) -> NDArray[np.uint8]:
    """Return how light each sample is, roughly (rows, columns), 0 to 255; for texture only."""
    data = samples.data if samples.data.ndim == 3 else samples.data[:, :, None]
    kind, bands = samples.space.kind, data.shape[2]
    if bands < 3 or kind == "lab":
        return np.ascontiguousarray(data[:, :, 0])
    mixed = data[:, :, 0].astype(np.uint16) * 77
    mixed += data[:, :, 1].astype(np.uint16) * 150
    mixed += data[:, :, 2].astype(np.uint16) * 29
    mixed >>= 8
    if kind == "rgb":
        return mixed.astype(np.uint8)
    if bands > 3:
        mixed += data[:, :, 3]
    light: NDArray[np.uint8] = (255 - np.minimum(mixed, 255)).astype(np.uint8)
    return light


def _enlarged(exam: Exam, seen: list[tuple[Sheet, list[_Seen]]]) -> Iterator[Said]:
    wanted = exam.spec.images.continuous.wanted_ppi
    judged, found = 0, False
    untold: list[str] = []
    for sheet, pictures in seen:
        blown = []
        for item, estimate, _ in pictures:
            judged += estimate.judged
            if not estimate.judged:
                untold.append(estimate.why)
            true_ppi = min(item.ppi) * estimate.usual_share
            if estimate.share < 1 and true_ppi < wanted - TOLERANCE_PPI:
                blown.append((item, estimate, true_ppi))
        if not blown:
            continue
        found = True
        item, estimate, worst = min(blown, key=lambda entry: entry[2])
        yield exam.finding(
            ENLARGED,
            "enlarged",
            Severity.QUERY,
            f"{count(len(blown), 'picture')} enlarged before placing: {min(item.ppi):.0f} ppi by "
            f"count, {_by_detail(min(item.ppi), estimate)}.",
            f"Please {_send(exam)} as it was before it was enlarged, or a larger original if there "
            "is one.",
            limit="images.continuous.wanted_ppi",
            page=sheet.number,
            measured=round(worst, 1),
            marks=kept(
                Mark(i.visible, f"about {ppi:.0f} ppi", value=round(ppi, 1), rank=ppi)
                for i, _, ppi in blown
                if i.visible is not None
            ),
        )
    if found:
        return
    if untold:
        # One picture that cannot be told is no pass, whatever the others are.
        whose = f"{len(untold)} of {judged + len(untold)} pictures" if judged else "a picture"
        if not judged and len(untold) > 1:
            whose = f"{len(untold)} pictures"
        why = f"cannot be told of {whose}: {listed(dict.fromkeys(untold))}"
        yield NotApplicable(ENLARGED, why, untold=True)
    elif judged:
        yield Clear(ENLARGED, f"{count(judged, 'picture')} looked at, no trace of enlarging")
    else:
        yield NotApplicable(ENLARGED, "no picture of continuous tone")


def _by_detail(ppi: float, estimate: Estimate) -> str:
    """Return in words how many pixels an inch hold detail, and how that was seen."""
    if estimate.method is Method.SPREAD and estimate.widest is not None:
        low, high = ppi / estimate.widest, ppi * estimate.share
        return (
            f"about {low:.0f} to {high:.0f} ppi by how far its edges spread (enlarged about "
            f"{estimate.factor:.1f} to {estimate.widest:.1f} times, or blurred)"
        )
    return (
        f"about {ppi * estimate.share:.0f} ppi by detail ({estimate.method}, about "
        f"{estimate.factor:.1f} times)"
    )


def _compressed(exam: Exam, seen: list[tuple[Sheet, list[_Seen]]]) -> Iterator[Said]:
    wanted = exam.spec.images.continuous.wanted_ppi
    best_of_bad: int | None = None
    judged, found = 0, False
    untold: list[str] = []
    for sheet, pictures in seen:
        coarse = []
        for item, estimate, (quality, told) in pictures:
            if not told:
                untold.append(estimate.why if estimate == _UNREAD[0] else _LITTLE)
            judged += 1
            if quality is None:
                continue
            best_of_bad = quality if best_of_bad is None else min(best_of_bad, quality)
            if shows(quality, min(item.ppi), wanted):
                coarse.append((item, quality))
        if coarse:
            found = True
            worst = min(quality for _, quality in coarse)
            yield exam.finding(
                COMPRESSION,
                "compressed",
                Severity.QUERY,
                f"{count(len(coarse), 'picture')} compressed so hard that it will show: JPEG "
                f"quality about {worst} of 100; {LEAST_QUALITY} or more is wanted.",
                f"Please {_send(exam)} as it was before it was saved for the web or a messenger; "
                "saving this one again at a higher quality does not help.",
                source=_COMPRESSION_SOURCE,
                page=sheet.number,
                measured=float(worst),
                required=float(LEAST_QUALITY),
                unit="of 100",
                marks=kept(
                    Mark(i.visible, f"quality {q}", value=float(q), rank=q)
                    for i, q in coarse
                    if i.visible is not None
                ),
            )
    if found:
        return
    if untold:
        whose = f"{len(untold)} of {judged} pictures" if judged > 1 else "a picture"
        why = f"cannot be told of {whose}: {listed(dict.fromkeys(untold))}"
        yield NotApplicable(COMPRESSION, why, untold=True)
    elif best_of_bad is None:
        yield NotApplicable(COMPRESSION, "no picture on the art shows that it ever was a JPEG")
    else:
        yield Clear(
            COMPRESSION,
            f"lowest JPEG quality about {best_of_bad} of 100",
            float(best_of_bad),
            float(LEAST_QUALITY),
            "of 100",
        )


def shows(quality: int, ppi: float, wanted_ppi: float) -> bool:
    """Say whether damage of a JPEG quality shows at an effective resolution.

    The step of the tables is what matters at the wanted resolution. Above it more samples fall on
    the same area and their errors average out, so that a step larger by ppi / wanted is the same.
    """
    finer = max(1.0, ppi / wanted_ppi)
    return scale_percent(quality) / finer > scale_percent(LEAST_QUALITY)


def _send(exam: Exam) -> str:
    return "send the art" if exam.is_raster else "place the picture"
