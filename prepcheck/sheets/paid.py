"""The inks a file names, and those that the order pays for."""

import re
from collections.abc import Iterable, Iterator

from prepcheck.art.model import ALL_INKS, NO_INK, PROCESS_INKS
from prepcheck.sheets.exam import Exam, Sheet
from prepcheck.sheets.texts import digits, slips

_FINISH = re.compile(r"(?<=\d)\s*(c|cv|cvc|cvu|u|uv|m|cp|up|pc)$")
"""Letters after an ink's number that tell the paper of the swatch, not the ink."""
LONG_NAME = 6
"""Letters and digits of an ink's name from which one slip leaves it the same ink."""
_FOUR = frozenset({"cmyk", "4c", "process", "euroscale"})
"""Words by which an order names the four process inks together."""


def ink_key(name: str) -> str:
    """Return what two spellings of one ink have in common."""
    plain = re.sub(r"[\s_\-]+", " ", name).strip().casefold()
    plain = re.sub(r"\s+", " ", _FINISH.sub("", plain))
    return plain.replace(" ", "")


def paid_inks(exam: Exam) -> tuple[str, ...]:
    """Return the inks the order pays for, a word for all four process inks spelt out."""
    if exam.part is None or exam.part.inks is None:
        return ()
    inks: dict[str, None] = {}
    for ink in exam.part.inks:
        inks |= dict.fromkeys(PROCESS_INKS if ink_key(ink) in _FOUR else (ink,))
    return tuple(inks)


def paid_keys(exam: Exam) -> frozenset[str] | None:
    """Return the keys of the inks the order pays for; None where there is no telling."""
    if exam.part is None or exam.part.inks is None:
        return None
    return frozenset(ink_key(ink) for ink in paid_inks(exam))


def lost_spots(exam: Exam) -> tuple[str, ...]:
    """Return the spots the order pays for, where the file has none of them and process inks that
    nobody pays for in their place: art that was converted."""
    paid, keys = paid_inks(exam), paid_keys(exam)
    spots = tuple(ink for ink in paid if ink not in PROCESS_INKS)
    used = used_inks(exam)
    if keys is None or not spots or any(ink not in PROCESS_INKS for ink in used):
        return ()
    return spots if any(ink_key(ink) not in keys for ink in used) else ()


def misspelt(exam: Exam) -> dict[str, str]:
    """Return spots that nobody pays for and that are one slip of the hand from one that the order
    pays for and that is not there; other digits are another ink."""
    paid = {ink_key(ink): ink for ink in paid_inks(exam)}
    used = {ink_key(ink): ink for ink in used_inks(exam)}
    found = {}
    for key, ink in used.items():
        if key in paid or ink in PROCESS_INKS:
            continue
        for due, name in paid.items():
            if due not in used and one_ink(key, due):
                found[ink] = name
    return found


def one_ink(one: str, other: str) -> bool:
    """Say whether two keys of inks are one but for a slip of the hand."""
    same_number = digits(one) == digits(other)
    return min(len(one), len(other)) >= LONG_NAME and same_number and slips(one, other) == 1


def used_inks(exam: Exam) -> tuple[str, ...]:
    """Return the inks the file names for what it paints, process inks first."""
    return in_order(ink for sheet in exam.sheets for ink in _inks_of(exam, sheet))


def _inks_of(exam: Exam, sheet: Sheet) -> Iterator[str]:
    """Yield the inks of a sheet; a raster file's own mode names its process inks."""
    yield from sheet.content.inks
    if exam.is_raster:
        kinds = {image.space.kind for image in sheet.content.images}
        if "cmyk" in kinds:
            yield from PROCESS_INKS
        elif "grey" in kinds:
            yield "Black"


def in_order(inks: Iterable[str]) -> tuple[str, ...]:
    """Return inks without doubles, process inks first."""
    names = set(inks) - {ALL_INKS, NO_INK}
    return (*(i for i in PROCESS_INKS if i in names), *sorted(names - set(PROCESS_INKS)))
