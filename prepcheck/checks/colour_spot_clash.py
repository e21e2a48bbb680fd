"""Spots that are built like a process ink or like each other, or that only a picture uses."""

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from prepcheck.art.model import ALL_INKS, NO_INK, PROCESS_INKS, Space, SpaceFamily
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.said import Clear, Declaration, FoundAt, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.guide_spots import is_guide_spot
from prepcheck.sheets.paid import ink_key
from prepcheck.sheets.surroundings import MOST_MARKS, kept, on_art
from prepcheck.sheets.uses import Use, marks_with, uses_of
from prepcheck.words import count, listed

CHECK = "colour.spot-clash"
_ALIKE = 0.01
"""Difference of the stand-ins of two spots up to which they are the same, of 0..1."""
_LAB_ALIKE = 1.0
_SOURCE = "common practice, no source"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Spot colours do not clash",
        FoundAt.PLATES,
        (Severity.QUERY,),
        "A spot whose stand-in is one process ink in full was most likely meant to be that ink; "
        "two spots of one make-up were most likely meant to be one; and a spot that nothing but "
        "a picture uses usually came along with it unseen. Each is a plate that somebody pays "
        "for.",
        _SOURCE,
        codes=("process", "twins", "changing", "pictures-only"),
    ),
)


class _MakeUp(NamedTuple):
    """What stands in for a spot in full: the kind of colour and its components."""

    kind: str
    solid: tuple[float, ...]

    def like(self, other: "_MakeUp") -> bool:
        room = _LAB_ALIKE if self.kind == "lab" else _ALIKE
        return self.kind == other.kind and all(
            abs(a - b) <= room for a, b in zip(self.solid, other.solid, strict=True)
        )


class _Spot(NamedTuple):
    """Where a spot is used, as far as it is shown; in what kinds of object; what it is built of."""

    uses: list[tuple[int, Use]]
    kinds: set[str]
    make_ups: list[_MakeUp]


def examine(exam: Exam) -> Iterator[Said]:
    spots = _spots(exam)
    if not spots:
        yield NotApplicable(CHECK, "no spot colour is used")
        return
    said = _clashes(exam, spots)
    if said:  # only then, since all that a spot paints is looked at
        inks = {name: spot for name, spot in spots.items() if not is_guide_spot(exam, name)}
        said = said if len(inks) == len(spots) else _clashes(exam, inks)
    yield from said
    if not said:
        yield Clear(CHECK, f"{count(len(spots), 'spot colour')}, none of which clashes")


def _clashes(exam: Exam, spots: dict[str, _Spot]) -> list[Finding]:
    said = [*_as_process(exam, spots), *_twins(exam, spots), *_changing(exam, spots)]
    return said if exam.is_raster else [*said, *_only_in_pictures(exam, spots)]


def _spots(exam: Exam) -> dict[str, _Spot]:
    found: dict[str, _Spot] = defaultdict(lambda: _Spot([], set(), []))
    for sheet in exam.sheets:
        for use in uses_of(sheet.content, lambda colour: any(_named(colour.space))):
            for name, make_up in _named(use.space):
                if not marks_with(use, name):
                    continue
                spot = found[name]
                new = make_up is not None and make_up not in spot.make_ups
                if not new and use.kind in spot.kinds and len(spot.uses) >= MOST_MARKS:
                    continue
                if not on_art(exam, sheet, use.box):
                    continue
                spot.uses.append((sheet.number, use))
                spot.kinds.add(use.kind)
                if make_up is not None and not any(make_up.like(own) for own in spot.make_ups):
                    spot.make_ups.append(make_up)
    return {name: found[name] for name in sorted(found) if found[name].uses}


def _named(space: Space) -> Iterator[tuple[str, _MakeUp | None]]:
    """Yield the spots that a space names, each with its make-up where it is known."""
    if space.family not in (SpaceFamily.SEPARATION, SpaceFamily.DEVICE_N):
        if space.base is not None:
            yield from _named(space.base)
        return
    for index, name in enumerate(space.colorants):
        if name in (ALL_INKS, NO_INK, *PROCESS_INKS):
            continue
        solid = space.solids[index] if index < len(space.solids) else None
        kind = None if space.base is None else space.base.kind
        yield name, None if solid is None or kind is None else _MakeUp(kind, solid)


def _as_process(exam: Exam, spots: dict[str, _Spot]) -> Iterator[Finding]:
    for name, spot in spots.items():
        for ink, make_up in _PROCESS.items():
            if any(make_up.like(own) for own in spot.make_ups):
                yield _finding(
                    exam,
                    "process",
                    {name: spot},
                    f"The spot '{name}' is built like the process ink {ink}; it would become a "
                    "plate of its own.",
                    f"Please use {ink} itself if that is meant.",
                    measured=name,
                    required=ink,
                )


def _twins(exam: Exam, spots: dict[str, _Spot]) -> Iterator[Finding]:
    names = list(spots)
    for at, name in enumerate(names):
        for other in names[at + 1 :]:
            if ink_key(name) == ink_key(other):
                continue  # two spellings of one ink are said under colour.inks
            pairs = ((a, b) for a in spots[name].make_ups for b in spots[other].make_ups)
            if any(a.like(b) for a, b in pairs):
                yield _finding(
                    exam,
                    "twins",
                    {name: spots[name], other: spots[other]},
                    f"The spots '{name}' and '{other}' have the same make-up; each would become a "
                    "plate.",
                    "Please merge them into one swatch if one ink is meant.",
                    measured=listed([name, other]),
                    required="one ink",
                )


def _changing(exam: Exam, spots: dict[str, _Spot]) -> Iterator[Finding]:
    for name, spot in spots.items():
        if len(spot.make_ups) > 1:
            yield _finding(
                exam,
                "changing",
                {name: spot},
                f"The spot '{name}' stands for {len(spot.make_ups)} different colours in this "
                "file.",
                "Please tell us which of them is the ink that is meant.",
                measured=float(len(spot.make_ups)),
                required=1.0,
            )


def _only_in_pictures(exam: Exam, spots: dict[str, _Spot]) -> Iterator[Finding]:
    for name, spot in spots.items():
        if spot.kinds == {"pictures"}:
            yield _finding(
                exam,
                "pictures-only",
                {name: spot},
                f"The spot '{name}' is used in {count(len(spot.uses), 'picture')} and nowhere "
                "else.",
                "Please tell us whether this ink is meant, or convert the picture.",
                measured=name,
                required="used elsewhere too",
            )


def _finding(
    exam: Exam,
    code: str,
    spots: dict[str, _Spot],
    message: str,
    fix: str,
    measured: float | str,
    required: float | str,
) -> Finding:
    """Return a finding on the first page where the spots are used, with the places there."""
    page = min(number for spot in spots.values() for number, _ in spot.uses)
    return exam.finding(
        CHECK,
        code,
        Severity.QUERY,
        message,
        fix,
        source=_SOURCE,
        page=page,
        measured=measured,
        required=required,
        subject=" / ".join(spots),
        marks=kept(
            Mark(use.box, name, rank=-use.box.area)
            for name, spot in spots.items()
            for number, use in spot.uses
            if number == page
        ),
    )


_PROCESS = {
    ink: _MakeUp("cmyk", tuple(float(one == ink) for one in PROCESS_INKS)) for ink in PROCESS_INKS
}
