"""Compares a corrected file or order with the earlier one."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from types import MappingProxyType

from prepcheck.comparison import (
    NEAR_MM,
    Comparison,
    PageChanges,
    PartChanges,
    fate_of,
    in_one_run,
)
from prepcheck.errors import OutputError
from prepcheck.findings import Finding, PartResult, Result, Status
from prepcheck.output import refuse_inputs, why_not, write_whole
from prepcheck.proof.compare_pages import write_comparison
from prepcheck.proof.model import ComparedPage, ComparedPart, ProofPart
from prepcheck.report.compare import comparison_text
from prepcheck.report.compare_letter import comparison_letter
from prepcheck.run.answer import Task
from prepcheck.run.examine import Examined, Progress, examine
from prepcheck.run.executor import Executor
from prepcheck.run.gather import Batch
from prepcheck.run.message import Failed
from prepcheck.run.pair import PairAnswer, PairTask, compare_pair
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.run.worker import isolated
from prepcheck.spec.model import Spec

Side = tuple[Task, ProofPart]
"""A part of one side of a comparison: its file, and what was found on it."""
_NONE_SAID: Mapping[str, str] = MappingProxyType({})


def side_of(task: Task, part: PartResult, spec: Spec | None) -> Side:
    """Return a part that has been looked at before; with its spec its art can be shown."""
    return task, ProofPart(part, spec)


@dataclass(frozen=True)
class ComparedSide:
    """One side of a comparison: what was found, part for part with its file, the files that must
    not be written over, and what outputs are named after."""

    result: Result
    sides: tuple[Side, ...]
    inputs: tuple[Path, ...]
    stem: str


@dataclass(frozen=True)
class Compared:
    """A comparison, and part for part what its proof shows; `told` is for who runs it."""

    comparison: Comparison
    parts: tuple[ComparedPart, ...]
    inputs: tuple[Path, ...]
    stem: str
    """What the outputs are named after."""
    told: tuple[str, ...] = ()


def compared(
    old: Batch | ComparedSide,
    new: Batch,
    *,
    said: Mapping[str, str] = _NONE_SAID,
    jobs: int = 1,
    progress: Progress | None = None,
    settings: Settings = DEFAULT,
    executor: Executor | None = None,
) -> Compared:
    """Check what has not been looked at, and tell what changed from one side to the other.

    Parts of orders belong together by name, else by side; loose files as is `said` (the newer
    name, then the earlier), else by name, side or piece; single files always do. A part that is
    not among what is new was not sent again, and its findings are still open.
    """
    before, after = (
        side
        if isinstance(side, ComparedSide)
        else _looked(
            side,
            examine(side, jobs=jobs, pictures=False, progress=progress, executor=executor),
        )
        for side in (old, new)
    )
    pairs = _paired(before.sides, after.sides, said)
    pages = _pages(pairs, jobs, settings)
    awaited = {part.name for part in before.result.awaited}
    parts = tuple(_part(pair, own, awaited) for pair, own in zip(pairs, pages, strict=True))
    comparison = in_one_run(
        Comparison(
            before.result,
            after.result,
            tuple(part.changes for part in parts),
            fate_of(
                before.result.findings,
                after.result.findings,
                sent_again=lambda finding: _sent_again(finding, parts, after.result),
            ),
        )
    )
    parts = tuple(
        replace(part, changes=changes)
        for part, changes in zip(parts, comparison.parts, strict=True)
    )
    return Compared(comparison, parts, (*before.inputs, *after.inputs), after.stem)


def write_compared(
    compared: Compared,
    *,
    proof: Path | None,
    report: Path | None,
    letter: Path | None = None,
    made_on: date,
) -> None:
    """Write the proof, the report and the letter of a comparison, each whole or not at all.

    Raises UsageError before writing anything when a path is one of the inputs, else OutputError.
    """
    outputs = [path for path in (proof, report, letter) if path is not None]
    refuse_inputs(outputs, compared.inputs)
    text = comparison_text(compared.comparison)
    lines: list[str] = []
    if report is not None:
        lines += why_not(lambda: write_whole(report, text.encode()))
    if letter is not None:
        message = comparison_letter(compared.comparison)
        lines += why_not(lambda: write_whole(letter, message.encode("utf-8", "replace")))
    if proof is not None:
        lines += why_not(
            lambda: write_comparison(proof, compared.comparison, compared.parts, made_on=made_on)
        )
    if lines:
        raise OutputError(*lines)


def _sent_again(finding: Finding, parts: Sequence[ComparedPart], new: Result) -> bool:
    """Say whether all that a finding of an order concerns has come again, so that it can be cured.

    It must have been looked for again as well.
    """
    came = {part.changes.name for part in parts if part.changes.after is not None}
    came |= {part.changes.before.name for part in parts if _came(part) and part.changes.before}
    looked = any(
        one.status is not Status.NOT_APPLICABLE
        for one in new.outcomes
        if one.check == finding.check
    )
    # Two files exchanged are no longer found once one of them is left out: that cures nothing.
    return looked and all(name in came for name in finding.parts)


def _came(part: ComparedPart) -> bool:
    return part.changes.after is not None


def _looked(batch: Batch, examined: Examined) -> ComparedSide:
    """Return what was examined as one side; a part that has not come has nothing to compare."""
    standing = {standing.place for standing in batch.standing}
    parts = [part for place, part in enumerate(examined.parts) if place not in standing]
    sides = tuple(zip(examined.tasks, parts, strict=True))
    return ComparedSide(examined.result, sides, batch.inputs, batch.stem)


def _paired(
    old: Sequence[Side], new: Sequence[Side], said: Mapping[str, str]
) -> list[tuple[Side | None, Side | None]]:
    """Return what belongs together, in the order of what is new, then what was left out."""
    if len(old) == len(new) == 1 and not _two_of_one_order(old[0], new[0]):
        return [(old[0], new[0])]
    left = list(old)
    found: dict[int, Side] = {}

    def as_said(one: Side, other: Side) -> bool:
        return said.get(other[0].name) == one[0].name

    for alike in (as_said, _same_name, _same_side, _same_file, _same_piece):
        for index, side in enumerate(new):
            if index in found:
                continue
            known = [other for other in left if alike(other, side)]
            match = known[0] if len(known) == 1 or (known and alike is _same_name) else None
            if match is not None:
                left.remove(match)
                found[index] = match
    pairs: list[tuple[Side | None, Side | None]] = [
        (found.get(index), side) for index, side in enumerate(new)
    ]
    return pairs + [(side, None) for side in left]


def _two_of_one_order(one: Side, other: Side) -> bool:
    """Say whether two are different parts of the same order."""
    order = one[0].order
    return order is not None and order == other[0].order and not _same_name(one, other)


def _same_name(one: Side, other: Side) -> bool:
    return one[0].name.casefold() == other[0].name.casefold()


def _same_piece(one: Side, other: Side) -> bool:
    """Say whether two loose files are for one kind of piece, of which an order may have one."""
    return other[0].part is None and one[1].result.spec == other[1].result.spec is not None


def _same_side(one: Side, other: Side) -> bool:
    return one[1].result.side is not None and one[1].result.side == other[1].result.side


def _same_file(one: Side, other: Side) -> bool:
    return one[0].path.name.casefold() == other[0].path.name.casefold()


def _pages(
    pairs: Sequence[tuple[Side | None, Side | None]], jobs: int, settings: Settings
) -> list[tuple[ComparedPage, ...]]:
    """Return the pages of each pair; none where one is lacking or both are the same file."""
    found: list[tuple[ComparedPage, ...]] = [()] * len(pairs)
    tasks: list[PairTask] = []
    places: list[int] = []
    for index, (old, new) in enumerate(pairs):
        if old is None or new is None or _unchanged(old, new):
            continue
        task = _task(old, new, settings)
        if task is None:
            gone = old[1].result.kept_from != "" and not old[0].path.is_file()
            why = "the earlier file is not here any more" if gone else ""
            found[index] = (_unlike(why or "one of the two files cannot be examined"),)
        else:
            tasks.append(task)
            places.append(index)
    for end in isolated(compare_pair, tasks, PairAnswer, jobs=jobs, limits=settings.worker):
        answer = end.answer
        pages = (
            (_unlike(answer.why.partition("; ")[0]),)
            if isinstance(answer, Failed)
            else answer.pages
        )
        found[places[end.index]] = pages
    return found


def _unlike(why: str) -> ComparedPage:
    return ComparedPage(PageChanges(1, 0, 0.0, (), (), unlike=why))


def _unchanged(old: Side, new: Side) -> bool:
    one, other = old[1].result, new[1].result
    pages = tuple(None if side[0].part is None else side[0].part.page for side in (old, new))
    return one.sha256 == other.sha256 != "" and pages[0] == pages[1] and one.spec == other.spec


def _task(old: Side, new: Side, settings: Settings) -> PairTask | None:
    before, after = old[1], new[1]
    if before.spec is None or after.spec is None:
        return None
    if not before.result.pages or not after.result.pages:
        return None
    return PairTask(
        old[0].path, new[0].path, before.spec, after.spec, old[0].part, new[0].part, settings
    )


def _part(
    pair: tuple[Side | None, Side | None],
    pages: tuple[ComparedPage, ...],
    awaited: Collection[str],
) -> ComparedPart:
    old, new = pair
    before = None if old is None else old[1].result
    after = None if new is None else new[1].result
    named = after or before
    fate = fate_of(
        () if before is None else before.findings,
        () if after is None else after.findings,
        sent_again=lambda _: after is not None and after.received,
    )
    pages = tuple(_asked(page, before) for page in pages)
    changes = PartChanges(
        "" if named is None else named.name,
        before,
        after,
        tuple(page.changes for page in pages),
        fate,
        awaited=before is None and named is not None and named.name in awaited,
    )
    spec = new[1].spec if new is not None else old[1].spec if old is not None else None
    return ComparedPart(changes, spec, pages)


def _asked(page: ComparedPage, before: PartResult | None) -> ComparedPage:
    """Return a page whose changes say whether a finding of the earlier check lies there."""
    if before is None or not before.every:
        return page
    boxes = [
        mark.box.grown(NEAR_MM)
        for finding in before.every
        if finding.page in (None, page.changes.number)
        for mark in finding.where
    ]
    marked = tuple(
        replace(change, asked=any(change.box.overlap(box) is not None for box in boxes))
        for change in page.changes.changes
    )
    return replace(page, changes=replace(page.changes, changes=marked))
