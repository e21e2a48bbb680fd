"""Compares a corrected file or order with the earlier one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from prepcheck.comparison import (
    NEAR_MM,
    Comparison,
    PageChanges,
    PartChanges,
    fate_of,
    in_one_run,
)
from prepcheck.errors import OutputError, UsageError
from prepcheck.findings import Finding, PartResult, Result, Status
from prepcheck.output import refuse_inputs, why_not, write_whole
from prepcheck.proof.compare_pages import write_comparison
from prepcheck.proof.model import ComparedPage, ComparedPart, ProofPart
from prepcheck.report.compare import comparison_text
from prepcheck.report.compare_letter import comparison_letter
from prepcheck.run.answer import Task
from prepcheck.run.examine import ArtPath, Examined, Progress, examine
from prepcheck.run.executor import Executor
from prepcheck.run.gather import Batch, gather
from prepcheck.run.message import Failed
from prepcheck.run.pair import PairAnswer, PairTask, compare_pair
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.run.worker import isolated


@dataclass(frozen=True)
class Compared:
    """A comparison, and part for part what its proof shows."""

    comparison: Comparison
    parts: tuple[ComparedPart, ...]
    batches: tuple[Batch, Batch]

    @property
    def stem(self) -> str:
        """What the outputs are named after."""
        return self.batches[1].stem


_Side = tuple[Task, ProofPart]


def compare(
    old: ArtPath,
    new: ArtPath,
    *,
    spec: ArtPath | None = None,
    jobs: int = 1,
    proof: ArtPath | None = None,
    report: ArtPath | None = None,
    letter: ArtPath | None = None,
    order: ArtPath | None = None,
    made_on: date | None = None,
    progress: Progress | None = None,
    settings: Settings = DEFAULT,
    executor: Executor | None = None,
) -> Compared:
    """Check two files, or two orders, and tell what changed from one to the other.

    Parts of orders belong together by name, else by side; single files always do. A part that is
    not among what is new was not sent again, and its findings are still open. `order` is the order
    file that single files belong to: they are then judged as its part. `proof`, `report` and
    `letter` are paths to write the proof PDF and the JSON report of the comparison and a message
    to the client to; the rest is as for `inspect`. Raises UsageError, SpecError or OrderError, one
    line a fault, and OutputError.
    """
    if order is None:
        batches = _one(Path(old), spec, settings), _one(Path(new), spec, settings)
    else:
        batches = _of_order(Path(order), Path(old), Path(new), spec, settings)
    before, after = (
        examine(batch, jobs=jobs, pictures=False, progress=progress, executor=executor)
        for batch in batches
    )
    pairs = _paired(_sides(batches[0], before), _sides(batches[1], after))
    pages = _pages(pairs, jobs, settings)
    parts = tuple(_part(pair, own) for pair, own in zip(pairs, pages, strict=True))
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
    compared = Compared(comparison, parts, batches)
    write_compared(
        compared,
        proof=None if proof is None else Path(proof),
        report=None if report is None else Path(report),
        letter=None if letter is None else Path(letter),
        made_on=made_on or date.today(),
    )
    return compared


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
    inputs = [path for batch in compared.batches for path in batch.inputs]
    refuse_inputs([path for path in (proof, report, letter) if path is not None], inputs)
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


def _one(path: Path, spec: str | Path | None, settings: Settings) -> Batch:
    batches = gather([path], spec=spec, settings=settings).whole
    if len(batches) != 1:
        raise UsageError(f"{path}: holds {len(batches)} orders; compare them one at a time")
    return batches[0]


def _of_order(
    path: Path, old: Path, new: Path, spec: ArtPath | None, settings: Settings
) -> tuple[Batch, Batch]:
    """Return both files, each as the one part of an order that either is named for."""
    whole = _one(path, spec, settings)
    if whole.order is None:
        raise UsageError(f"{path}: is no order; name the order file (.toml) with --order")
    files = (old.name.casefold(), new.name.casefold())
    known = [t for t in whole.tasks if t.path.name.casefold() in files]
    if len(known) != 1 and len(whole.order.part) == 1:
        known = list(whole.tasks)
    if len(known) != 1:
        named = ", ".join(part.file for part in whole.order.part if part.file)
        raise UsageError(
            f"{path}: which part {old.name} and {new.name} are cannot be told; give one of them "
            f"the name it has in the order ({named})"
        )
    before, after = (
        replace(whole, tasks=(replace(known[0], path=art, file=str(art)),), stem=art.stem)
        for art in (old, new)
    )
    return before, after


def _sent_again(finding: Finding, parts: Sequence[ComparedPart], new: Result) -> bool:
    """Say whether all that a finding of an order concerns has come again, so that it can be cured.

    What concerns no part must have been looked for again on the order.
    """
    came = {part.changes.name for part in parts if part.changes.after is not None}
    came |= {part.changes.before.name for part in parts if _came(part) and part.changes.before}
    if finding.parts:
        # Two files exchanged are no longer found once one of them is left out: that cures nothing.
        return all(name in came for name in finding.parts) and bool(new.outcomes)
    looked = [o.status for o in new.outcomes if o.check == finding.check]
    return any(status is not Status.NOT_APPLICABLE for status in looked)


def _came(part: ComparedPart) -> bool:
    return part.changes.after is not None


def _sides(batch: Batch, examined: Examined) -> list[_Side]:
    """Return what was examined; a part that has not come has nothing to compare."""
    standing = {standing.place for standing in batch.standing}
    parts = [part for place, part in enumerate(examined.parts) if place not in standing]
    return list(zip(examined.tasks, parts, strict=True))


def _paired(old: Sequence[_Side], new: Sequence[_Side]) -> list[tuple[_Side | None, _Side | None]]:
    """Return what belongs together, in the order of what is new, then what was left out."""
    if len(old) == len(new) == 1:
        return [(old[0], new[0])]
    left = list(old)
    found: dict[int, _Side] = {}
    for alike in (_same_name, _same_side, _same_file, _same_piece):
        for index, side in enumerate(new):
            if index in found:
                continue
            known = [other for other in left if alike(other, side)]
            match = known[0] if len(known) == 1 or (known and alike is _same_name) else None
            if match is not None:
                left.remove(match)
                found[index] = match
    pairs: list[tuple[_Side | None, _Side | None]] = [
        (found.get(index), side) for index, side in enumerate(new)
    ]
    return pairs + [(side, None) for side in left]


def _same_name(one: _Side, other: _Side) -> bool:
    return one[0].name.casefold() == other[0].name.casefold()


def _same_piece(one: _Side, other: _Side) -> bool:
    """Say whether two loose files are for one kind of piece, of which an order may have one."""
    return other[0].part is None and one[1].result.spec == other[1].result.spec is not None


def _same_side(one: _Side, other: _Side) -> bool:
    return one[1].result.side is not None and one[1].result.side == other[1].result.side


def _same_file(one: _Side, other: _Side) -> bool:
    return one[0].path.name.casefold() == other[0].path.name.casefold()


def _pages(
    pairs: Sequence[tuple[_Side | None, _Side | None]], jobs: int, settings: Settings
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
            why = "one of the two files cannot be examined"
            found[index] = (_unlike(why),)
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


def _unchanged(old: _Side, new: _Side) -> bool:
    one, other = old[1].result, new[1].result
    pages = tuple(None if side[0].part is None else side[0].part.page for side in (old, new))
    return one.sha256 == other.sha256 != "" and pages[0] == pages[1] and one.spec == other.spec


def _task(old: _Side, new: _Side, settings: Settings) -> PairTask | None:
    before, after = old[1], new[1]
    if before.spec is None or after.spec is None:
        return None
    if not before.result.pages or not after.result.pages:
        return None
    return PairTask(
        old[0].path, new[0].path, before.spec, after.spec, old[0].part, new[0].part, settings
    )


def _part(pair: tuple[_Side | None, _Side | None], pages: tuple[ComparedPage, ...]) -> ComparedPart:
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
