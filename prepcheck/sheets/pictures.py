"""The pictures on the art that are worth judging."""

from collections.abc import Iterator

from prepcheck.art.model import ImageItem
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import on_art

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


def is_one_bit(item: ImageItem) -> bool:
    """Say whether a picture has only two tones."""
    return item.is_mask or (item.bits == 1 and item.space.components == 1)
