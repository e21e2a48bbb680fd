"""What is compared: an earlier file, order or report, and what came since, part for part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from prepcheck import __version__
from prepcheck.errors import UsageError
from prepcheck.findings import Result
from prepcheck.intake.archives import of_order, opener
from prepcheck.intake.aside import Aside, aside
from prepcheck.intake.deliver import delivered
from prepcheck.intake.earlier import EarlierRound, as_it_stands, is_report, read_report
from prepcheck.intake.look import look_at
from prepcheck.intake.match import ORDERED, match, quoted
from prepcheck.intake.unpack import Delivered
from prepcheck.intake.wanted import Earlier, Wanted
from prepcheck.order import Order, OrderHead, load_order, loose_part
from prepcheck.run.answer import Task
from prepcheck.run.beside import is_order
from prepcheck.run.compare import Compared, ComparedSide, compared, side_of, write_compared
from prepcheck.run.examine import ArtPath, Progress
from prepcheck.run.executor import Executor
from prepcheck.run.folders import contents_of
from prepcheck.run.gather import Batch, facts_of, gather
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.sheets.texts import LiveTexts
from prepcheck.spec.load import load_spec

_MOST_DISCS = 13
"""An order of so many has a side for each letter."""


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
    said: Mapping[str, str] | None = None,
    made_on: date | None = None,
    progress: Progress | None = None,
    settings: Settings = DEFAULT,
    executor: Executor | None = None,
) -> Compared:
    """Check what is new, and what it is compared with, and tell what changed.

    `old` is a file, an order, a folder of either, or the report of an earlier check; `new` is
    another file or order, or files, a folder or an archive for some parts of `old`'s order. Those
    are matched to the parts by what they are, or as they are `said` to be (a file's name, then the
    part's). What was not sent again is still open. `order` is the order file that single files, or
    the files of a report, belong to: they are then judged as its parts. `proof`, `report` and
    `letter` are paths to write the proof PDF and the JSON report of the comparison and a message
    to the client to; the rest is as for `inspect`. Raises UsageError, SpecError or OrderError, one
    line a fault, and OutputError.
    """
    with aside() as into:
        how = _How(
            into, None if spec is None else str(spec), dict(said or {}), jobs, settings,
            None if order is None else Path(order),
        )  # fmt: skip
        ready = _ready(Path(old), Path(new), how)
        found = compared(
            ready.old, ready.new, said=ready.pairs, jobs=jobs, progress=progress,
            settings=settings, executor=executor,
        )  # fmt: skip
    found = replace(found, told=ready.told)
    write_compared(
        found,
        proof=None if proof is None else Path(proof),
        report=None if report is None else Path(report),
        letter=None if letter is None else Path(letter),
        made_on=made_on or date.today(),
    )
    return found


@dataclass(frozen=True)
class _How:
    into: Aside
    spec: str | None
    said: dict[str, str]
    jobs: int
    settings: Settings
    order: Path | None


@dataclass(frozen=True)
class _Ready:
    """Both sides; `pairs` names what loose files are, the newer's name and then the earlier's."""

    old: Batch | ComparedSide
    new: Batch
    pairs: Mapping[str, str]
    told: tuple[str, ...] = ()


def _ready(old: Path, new: Path, how: _How) -> _Ready:
    report = read_report(old) if _is_report(old) else None
    if report is not None:
        about = how.order or _order_of_report(report, new)
        order = load_order(about)
        if report.number != order.order.number:
            raise UsageError(
                f"{old}: this is the report of order {report.number}, not of {order.order.number}"
            )
        return _onto(_as_reported(report, order, about), new, about, report, how)
    path = _order_in(old)
    if path is not None:
        if how.order is not None and how.order.resolve() != path.resolve():
            raise UsageError(f"{old}: this is an order already; --order is for files without one")
        return _onto(_one(old, how), new, path, as_it_stands(load_order(path), path), how)
    if how.order is not None:
        return _Ready(*_as_parts(how.order, old, new, how), {})
    earlier, later = _one(old, how), _one(new, how)
    if later.order is not None or len(earlier.tasks) == len(later.tasks) == 1:
        _refuse_said(how)
        return _Ready(earlier, later, {})
    return _alike(earlier, later, how)


def _onto(
    old: Batch | ComparedSide, new: Path, path: Path, before: EarlierRound, how: _How
) -> _Ready:
    """Return an order and what came of it: another order file, or files for some of its parts."""
    if _order_in(new) is not None:
        _refuse_said(how)
        return _Ready(old, _one(new, how), {})
    came = delivered(
        [new], path, into=how.into, said=how.said, before=before, spec=how.spec, jobs=how.jobs,
        settings=how.settings,
    )  # fmt: skip
    return _Ready(old, came.batch, {}, came.told)


def _refuse_said(how: _How) -> None:
    if how.said:
        raise UsageError("--as says which part a file is; here both sides name their parts")


def _one(path: Path, how: _How) -> Batch:
    batches = gather(
        [path], spec=how.spec, settings=how.settings, unzip=opener(how.into),
        inside=of_order(how.into, how.jobs),
    ).whole  # fmt: skip
    if len(batches) != 1:
        raise UsageError(f"{path}: holds {len(batches)} orders; compare them one at a time")
    return batches[0]


def _order_in(path: Path) -> Path | None:
    """Return the order file that was named, or the one in a folder; None where there is none."""
    if path.is_dir():
        orders = contents_of(path).orders
        return orders[0] if len(orders) == 1 else None
    return path if path.suffix.lower() == ".toml" and is_order(path) else None


def _is_report(path: Path) -> bool:
    """Say whether this is a report, or a folder of what a check wrote and no order."""
    if not path.is_dir():
        return is_report(path)
    if any(one.is_file() and is_order(one) for one in path.glob("*.toml")):
        return False
    return any(is_report(one) for one in path.glob("*.json"))


def _order_of_report(report: EarlierRound, new: Path) -> Path:
    """Return the order file that a report is about, where it lies near. Raises UsageError."""
    if report.number is None:
        raise UsageError(
            f"{report.path}: this report is of files that no order names; compare the files"
        )
    folders = (report.path.parent, report.path.parent.parent, Path())
    places = [folder / report.order_file for folder in folders if report.order_file]
    named = _order_in(new) if new.exists() else None
    if named is not None:
        places.append(named)
    for place in places:
        if place.is_file() and load_order(place).order.number == report.number:
            return place
    raise UsageError(
        f"{report.path}: the file of order {report.number} is not beside this report; name it with "
        "--order"
    )


def _as_reported(report: EarlierRound, order: Order, path: Path) -> ComparedSide:
    """Return an order as its report tells it; art of which the bytes are still there is shown."""
    parts = {part.name: part for part in order.part}
    known = {one.name for one in report.parts if one.received}
    sides = []
    results = tuple(
        replace(one, kept_from=report.path.name) if one.name in known else one
        for one in report.parts
    )
    for one in results:
        if one.name not in known:
            continue
        part = parts.get(one.name)
        place = None if part is None else report.file_of(part, path)
        spec = None
        if place is not None and part is not None and one.spec is not None:
            own = part.spec is not None and part.spec.endswith(".toml")
            spec = load_spec(path.parent / part.spec if own and part.spec else one.spec)
        task = Task(one.name, one.file, place or Path(one.file), (), part=part, order=order)
        sides.append(side_of(task, one, spec))
    result = Result(__version__, facts_of(order, path), results, findings=report.findings)
    return ComparedSide(result, tuple(sides), (report.path, path), "")


def _as_parts(path: Path, old: Path, new: Path, how: _How) -> tuple[Batch, Batch]:
    """Return both files, each as the one part of an order that either is."""
    inside = of_order(how.into, how.jobs)
    whole = gather([path], spec=how.spec, settings=how.settings, inside=inside).whole[0]
    if whole.order is None:
        raise UsageError(f"{path}: is no order; name the order file (.toml) with --order")
    known = [t for t in whole.tasks if t.path.name.casefold() in _names(old, new)]
    if len(known) != 1 and len(whole.order.part) == 1:
        known = list(whole.tasks)
    if len(known) != 1:
        known = list(_told_by_art(path, (old, new), how))
    if len(known) != 1:
        parts = ", ".join(part.name for part in whole.order.part)
        raise UsageError(
            f"{path}: which part {old.name} and {new.name} are cannot be told; say it with "
            f"--as {quoted(new.name)}=PART ({parts})"
        )
    before, after = (
        replace(whole, tasks=(replace(known[0], path=art, file=str(art)),), stem=art.stem)
        for art in (old, new)
    )
    return before, after


def _names(*paths: Path) -> set[str]:
    return {path.name.casefold() for path in paths}


def _told_by_art(path: Path, arts: Sequence[Path], how: _How) -> Iterator[Task]:
    """Yield the part of the order that the first of these files plainly is."""
    for art in arts:
        said = {name: part for name, part in how.said.items() if name == art.name}
        batch = delivered(
            [art], path, into=how.into, said=said, spec=how.spec, jobs=how.jobs,
            settings=how.settings,
        ).batch  # fmt: skip
        if len(batch.tasks) == 1:
            yield batch.tasks[0]
            return


def _alike(old: Batch, new: Batch, how: _How) -> _Ready:
    """Return loose files of two deliveries, told which of the earlier ones each newer one is."""
    specs = tuple({s.name: s for task in (*old.tasks, *new.tasks) for s in task.specs}.values())
    before, after = (
        look_at([Delivered(task.file, task.path) for task in batch.tasks], specs, how.jobs)
        for batch in (old, new)
    )
    wanted = []
    for task, seen in zip(old.tasks, before, strict=True):
        sides = LiveTexts([word for page in seen.pages for word in page.words]).sides()
        side = next(iter(sides)) if len(sides) == 1 else None
        part = loose_part(task.name, task.file, side=side)
        fits = {piece.spec for page in seen.pages[:1] for piece in page.pieces}
        fitting = tuple(spec for spec in task.specs if spec.name in fits)
        wanted.append(Wanted(part, fitting or task.specs, Earlier(seen.sha256, task.file, seen)))
    head = OrderHead(
        number="-", client="-", title="-", catalogue="-", format="12-inch", discs=_MOST_DISCS
    )
    order = Order(head, tuple(one.part for one in wanted))
    found = match(order, wanted, after, how.said)
    names = {task.file: task.name for task in new.tasks}
    return _Ready(
        old,
        new,
        {names[one.file.name]: one.part for one in found.matches},
        (
            *map(str, found.questions),
            *(str(one) for one in found.matches if one.reasons != (ORDERED,)),
        ),
    )
