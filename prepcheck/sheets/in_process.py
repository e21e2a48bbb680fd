"""Pictures that were turned into the process inks, where an order pays for others."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from prepcheck.art.model import PROCESS_INKS
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.surroundings import on_art
from prepcheck.sheets.uses import marks_with, uses_of
from prepcheck.sheets.whereabouts import place_words
from prepcheck.words import listed

_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class Pictured:
    """A picture on the art of a sheet: where it is seen, in mm."""

    sheet: Sheet
    box: Box


def pictures_in(exam: Exam, inks: Collection[str]) -> tuple[Pictured, ...]:
    """Return the pictures that use some process inks, the largest first; nothing where anything
    but pictures uses them, or they are no process inks."""
    if not set(inks) <= set(PROCESS_INKS):
        return ()
    found = []
    for sheet in exam.sheets:
        for use in uses_of(sheet.content, lambda one: any(marks_with(one, ink) for ink in inks)):
            if not on_art(exam, sheet, use.box):
                continue
            if use.kind != "pictures":
                return ()
            found.append(Pictured(sheet, use.box))
    return tuple(sorted(found, key=lambda one: -one.box.area))


def named_pictures(pictures: Sequence[Pictured]) -> str:
    """Return 'the picture at the upper left', '2 pictures (at the foot and in the middle)'."""
    places = list(dict.fromkeys(place_words(one.box, one.sheet.outline) for one in pictures))
    if len(pictures) == 1:
        return f"the picture {places[0]}"
    shown = places[:_MOST_NAMED]
    more = [f"{len(places) - len(shown)} more places"] if len(places) > _MOST_NAMED + 1 else []
    shown += [] if more else places[_MOST_NAMED:]
    return f"{len(pictures)} pictures ({listed([*shown, *more])})"
