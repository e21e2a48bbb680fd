"""The pictures on the art that are worth judging."""

from collections.abc import Iterator, Sequence

import numpy as np

from prepcheck.art.model import ImageItem
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import on_art

MOST_PARTS = 2000
"""Pictures of a page that are looked at for parts of one."""
MEET_MM, AS_FINE = 0.05, 0.02
"""How far apart parts lie at most, and by which share their resolution may differ."""
LEAST_VISIBLE_MM2 = 0.01
"""Pictures of which less is seen are not judged."""


def judged_pictures(exam: Exam, sheet: Sheet) -> Iterator[ImageItem]:
    """Yield each placing that is seen on the art; single rows of samples, used for fades, are not
    pictures."""
    for item in sheet.content.images:
        if item.visible is None or item.visible.area < LEAST_VISIBLE_MM2 or item.opacity <= 0:
            continue
        if min(item.samples) > 1 and on_art(exam, sheet, item.visible):
            yield item


def wholes(items: Sequence[ImageItem]) -> list[list[ImageItem]]:
    """Return pictures in groups: those that exports cut into strips or tiles, which touch and have
    one resolution, are parts of one."""
    if not 1 < len(items) <= MOST_PARTS:
        return [[item] for item in items]
    boxes = np.array([item.visible or item.quad.box for item in items], np.float64)
    ppi = np.array([item.ppi for item in items])
    low, high = boxes[:, :2] - MEET_MM, boxes[:, 2:] + MEET_MM
    groups: list[list[ImageItem]] = []
    waiting = np.ones(len(items), bool)
    for first in range(len(items)):
        if not waiting[first]:
            continue
        waiting[first] = False
        group = [first]
        for one in group:
            touch = (low <= high[one]).all(axis=1) & (high >= low[one]).all(axis=1)
            alike = (np.abs(ppi - ppi[one]) <= AS_FINE * ppi[one]).all(axis=1)
            more = np.flatnonzero(waiting & touch & alike)
            waiting[more] = False
            group += more.tolist()
        groups.append([items[at] for at in group])
    return groups


def is_one_bit(item: ImageItem) -> bool:
    """Say whether a picture has only two tones."""
    return item.is_mask or (item.bits == 1 and item.space.components == 1)
