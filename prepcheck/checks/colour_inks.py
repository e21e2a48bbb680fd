"""The inks a file uses against those that are printed and paid for."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from prepcheck.art.model import PROCESS_INKS, Content
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box, FloatArray
from prepcheck.said import Clear, Declaration, FoundAt, Measured, NotApplicable, Said
from prepcheck.sheets.exam import Exam
from prepcheck.sheets.in_process import Pictured, named_pictures, pictures_in
from prepcheck.sheets.paid import (
    in_order,
    ink_key,
    lost_spots,
    misspelt,
    paid_inks,
    paid_keys,
    used_inks,
)
from prepcheck.sheets.surroundings import MOST_MARKS, are_on_art, kept
from prepcheck.sheets.uses import places_of_inks
from prepcheck.words import capital, count, listed

CHECK = "colour.inks"

NEEDS_VIEW = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Inks are those to be printed",
        FoundAt.PLATES,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "Every ink is a plate and a pass that somebody pays for. An ink too many stops the job at "
        "the plate maker; one ink spelt in two ways becomes two plates; a colour left over in the "
        "palette becomes an empty one.",
        "common practice of plants: spots named consistently, only those that were ordered",
        codes=(
            "beyond",
            "converted",
            "picture",
            "misspelt",
            "too-many-spots",
            "spellings",
            "unseen",
            "unused",
        ),
        limits=("colour.process_inks", "colour.most_spots"),
        measures=("inks",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    used = used_inks(exam)
    yield Measured("inks", used)
    unseen = tuple(ink for ink in used if _is_unseen(exam, ink))
    seen = tuple(ink for ink in used if ink not in unseen)
    said = [
        *_beyond(exam, seen),
        *_too_many(exam, seen),
        *_spellings(exam, used),
        *_covered(exam, unseen),
        *_unused(exam, used),
    ]
    yield from said
    if said:
        return
    if used:
        yield Clear(CHECK, f"printed in {listed(used)}", ", ".join(used))
    else:
        yield NotApplicable(CHECK, "nothing is painted in inks")


def _beyond(exam: Exam, used: tuple[str, ...]) -> Iterator[Finding]:
    paid = exam.part.inks if exam.part is not None else None
    if paid is None:
        allowed = frozenset(ink_key(ink) for ink in exam.spec.colour.process_inks)
        extra = [ink for ink in used if ink in PROCESS_INKS and ink_key(ink) not in allowed]
        required = listed(exam.spec.colour.process_inks)
        limit, source = "colour.process_inks", ""
        whose = "this piece is printed in"
    else:
        allowed = paid_keys(exam) or frozenset()
        extra = [ink for ink in used if ink_key(ink) not in allowed]
        required, whose = listed(paid), "the order pays for"
        limit, source = "", "the order"
    if not extra:
        return
    if slipped := misspelt(exam):
        extra = [ink for ink in extra if ink not in slipped]
        yield from (_misspelt(exam, ink, due, required) for ink, due in slipped.items())
        if not extra:
            return
    if lost := lost_spots(exam):
        yield _converted(exam, extra, lost, required)
        return
    if pictures := pictures_in(exam, extra):
        yield _picture(exam, extra, pictures, f"{whose} {required}", limit)
        return
    for page, marks in _places(exam, extra):
        yield exam.finding(
            CHECK,
            "beyond",
            Severity.STOP,
            f"{count(len(extra), 'ink')} too many: {listed(extra)}; {whose} {required}.",
            "Please convert these colours to the inks that are printed, or ask us to add the ink "
            "to the order.",
            limit=limit,
            source=source,
            page=page,
            measured=listed(extra),
            required=required,
            marks=marks,
        )


def _misspelt(exam: Exam, ink: str, due: str, required: str) -> Finding:
    """Return the one finding for an ink whose name is nearly that of one that is paid for."""
    (page, marks), *_ = _places(exam, [ink])
    return exam.finding(
        CHECK,
        "misspelt",
        Severity.STOP,
        f"The ink '{ink}' seems to be '{due}', which the order pays for; spelt like this it "
        "becomes a plate of its own.",
        f"Please name the swatch as the ink is ordered, {due}, or tell us that another is meant.",
        source="the order",
        page=page,
        measured=ink,
        required=required,
        subject=ink,
        marks=marks,
    )


def _converted(exam: Exam, extra: Sequence[str], lost: Sequence[str], required: str) -> Finding:
    """Return the one finding for art in process inks of which the spots ordered are lost."""
    (page, marks), *_ = _places(exam, list(extra))
    pictures = pictures_in(exam, extra)
    what = capital(named_pictures(pictures)) if pictures else "The art"
    verb = "are" if len(pictures) > 1 else "is"
    them = "they look" if len(pictures) > 1 else "it looks"
    return exam.finding(
        CHECK,
        "converted",
        Severity.STOP,
        f"{what} {verb} in {listed(extra)}, and nothing is in {listed(lost)}: {them} converted. "
        f"The order pays for {required}.",
        f"Please send the art as it was before it was converted, with {listed(lost)} in it, or "
        "ask us to print it in the process inks.",
        source="the order",
        page=page,
        measured=listed(extra),
        required=required,
        marks=marks,
    )


def _picture(
    exam: Exam, extra: Sequence[str], pictures: Sequence[Pictured], due: str, limit: str
) -> Finding:
    """Return the one finding for pictures that alone are in process inks nobody pays for."""
    first = pictures[0].sheet
    many = len(pictures) > 1
    own = [Mark(one.box, "", rank=-one.box.area) for one in pictures if one.sheet is first]
    required = paid_inks(exam) or exam.spec.colour.process_inks
    return exam.finding(
        CHECK,
        "picture",
        Severity.STOP,
        f"{capital(named_pictures(pictures))} {'are' if many else 'is'} converted to the process "
        f"inks and would print in {listed(extra)} too; {due}.",
        f"Please place {'these pictures' if many else 'this picture'} in the inks that are "
        f"{'printed' if limit else 'ordered'}, {listed(required)}, in grey for example, or ask us "
        "to add the process inks to the order.",
        limit=limit,
        source="" if limit else "the order",
        page=first.number,
        measured=listed(extra),
        required=listed(required),
        marks=kept(own),
    )


def _too_many(exam: Exam, used: tuple[str, ...]) -> Iterator[Finding]:
    spots = [ink for ink in used if ink not in PROCESS_INKS]
    most = exam.spec.colour.most_spots
    different = {ink_key(spot) for spot in spots}
    if len(different) <= most:
        return
    for page, marks in _places(exam, spots):
        yield exam.finding(
            CHECK,
            "too-many-spots",
            Severity.STOP,
            f"{count(len(different), 'spot colour')} ({listed(spots)}); at most {most} can be "
            "printed.",
            "Please convert the spot colours you can do without to CMYK.",
            limit="colour.most_spots",
            page=page,
            measured=float(len(different)),
            required=float(most),
            unit="spot colours",
            marks=marks,
        )


def _spellings(exam: Exam, used: tuple[str, ...]) -> Iterator[Finding]:
    alike: dict[str, list[str]] = defaultdict(list)
    for ink in used:
        alike[ink_key(ink)].append(ink)
    for names in alike.values():
        if len(names) > 1:
            quoted = listed([f"'{name}'" for name in names])
            yield exam.finding(
                CHECK,
                "spellings",
                Severity.QUERY,
                f"{quoted} look like one ink in {len(names)} spellings; each would become a plate.",
                "Please merge them into one swatch, spelt the way the ink is ordered.",
                source="common practice: no doubles of one ink with another suffix",
                measured=float(len(names)),
                required=1.0,
                unit="spellings",
                subject=ink_key(names[0]),
            )


def _is_unseen(exam: Exam, ink: str) -> bool:
    """Say whether a spot is used on the art, and its plates carry nothing all the same: what is
    painted later lies over all of it."""
    if ink in PROCESS_INKS:
        return False
    own = [sheet for sheet in exam.sheets if ink in sheet.plates.inks]
    return (
        bool(own)
        and not any(sheet.plates.troubles or sheet.plates.plate(ink).any() for sheet in own)
        and any(marks for _, marks in _places(exam, [ink]))
    )


def _covered(exam: Exam, unseen: Sequence[str]) -> Iterator[Finding]:
    for page, marks in _places(exam, list(unseen)) if unseen else ():
        yield exam.finding(
            CHECK,
            "unseen",
            Severity.NOTE,
            f"{count(len(unseen), 'spot colour')} used only where other things lie "
            f"over {'it' if len(unseen) == 1 else 'them'}: "
            f"{listed(unseen)}.",
            "Please delete what is covered, so that no empty plate is made.",
            source="common practice, no source",
            page=page,
            measured=listed(unseen),
            required="none",
            marks=marks,
        )


def _unused(exam: Exam, used: tuple[str, ...]) -> Iterator[Finding]:
    declared = in_order(i for sheet in exam.sheets for i in sheet.content.declared_inks)
    on_steps = _inks_of_steps(exam)
    unused = [ink for ink in declared if ink not in (*used, *PROCESS_INKS, *on_steps)]
    if unused:
        yield exam.finding(
            CHECK,
            "unused",
            Severity.NOTE,
            f"{count(len(unused), 'spot colour')} named in the file but painting nothing: "
            f"{listed(unused)}.",
            "Please delete unused swatches before exporting, so that no empty plate is made.",
            source="common practice, no source",
            measured=listed(unused),
            required="none",
        )


def _inks_of_steps(exam: Exam) -> set[str]:
    """Return the inks that guides on processing-steps layers are drawn in; they make no plate."""
    steps = exam.step_layers
    found: set[str] = set()
    for sheet in exam.sheets if steps else ():
        hidden = sheet.content.hidden or Content()
        paints = [
            p for path in hidden.paths if path.layer in steps for p in (path.fill, path.stroke)
        ]
        paints += [
            paint
            for style in hidden.type_table.used_styles()
            if style.layer in steps
            for paint in (style.fill, style.stroke)
        ]
        found.update(ink for paint in paints if paint is not None for ink, _ in paint.inks)
    return found


def _places(exam: Exam, inks: list[str]) -> list[tuple[int | None, tuple[Mark, ...]]]:
    """Return the places of inks by page; one entry without a place where none is known."""
    found: list[tuple[int | None, tuple[Mark, ...]]] = []
    for sheet in exam.sheets:
        boxes, numbers = places_of_inks(sheet.content, inks)
        on = are_on_art(exam, sheet, boxes)
        if on.any():
            found.append((sheet.number, _largest(boxes[on], numbers[on], inks)))
    return found or [(None, ())]


def _largest(boxes: FloatArray, numbers: NDArray[np.intp], inks: Sequence[str]) -> tuple[Mark, ...]:
    """Return what `kept` would of marks in boxes (n, 4) that name inks by their numbers (n,)."""
    ranks = -np.maximum(boxes[:, 2:] - boxes[:, :2], 0.0).prod(axis=1)
    place = np.argsort(np.argsort(inks))
    rows = np.lexsort((place[numbers], boxes[:, 0], -boxes[:, 3], ranks))[:MOST_MARKS]
    return tuple(
        Mark(Box(*box), inks[number], rank=rank)
        for box, number, rank in zip(
            boxes[rows].tolist(), numbers[rows].tolist(), ranks[rows].tolist(), strict=True
        )
    )
