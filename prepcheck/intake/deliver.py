"""Makes a delivery ready to be examined: archives opened, files matched to the order's parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from prepcheck.errors import UsageError
from prepcheck.faults import hint
from prepcheck.intake.archives import of_order
from prepcheck.intake.aside import Aside
from prepcheck.intake.asking import asking
from prepcheck.intake.earlier import EarlierRound
from prepcheck.intake.look import Seen, look_at
from prepcheck.intake.match import Match, Matched, match
from prepcheck.intake.unpack import Delivered, RefusedFile, looks_like_zip, shown, unpack
from prepcheck.intake.wanted import Earlier, Wanted
from prepcheck.order import Order, OrderPart, load_order
from prepcheck.run.archived import Arrived, LookInside
from prepcheck.run.awaited import awaited_part
from prepcheck.run.beside import is_writing, not_art
from prepcheck.run.gather import Batch, batch_of_delivery
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec


@dataclass(frozen=True)
class Prepared:
    """What is to be examined, and what a person should be told: a line each."""

    batch: Batch
    told: tuple[str, ...] = ()


def delivered(
    arts: Sequence[Path],
    order_path: Path,
    *,
    into: Aside,
    said: Mapping[str, str] | None = None,
    after: EarlierRound | None = None,
    before: EarlierRound | None = None,
    spec: str | Path | None = None,
    named: Mapping[str, str] | None = None,
    jobs: int = 1,
    settings: Settings = DEFAULT,
) -> Prepared:
    """Return the batch of the parts of an order that `arts` (files, archives, folders) are.

    `said` maps a file's name, as it is told, or with '#2' behind it for a page, to a part's name.
    With `after` the batch is the whole order: what did not come again stands as it was, or, where
    the earlier file is still there, is examined along with the rest. `before` is a round that files
    are only known again by. Raises OrderError, SpecError
    and UsageError.
    """
    order = load_order(order_path)
    told = dict(said or {})
    files, refused, notes = _files(arts, into)
    _refuse_unknown(told, order, files)
    named = dict(named or {})
    specs = _specs_of(order, order_path.parent, spec, named)
    wanted = [
        Wanted(part, specs[part.name], _earlier(part, order_path, after or before, specs))
        for part in order.part
    ]
    every = tuple({s.name: s for one in wanted for s in one.specs}.values())
    seen = look_at(files, every, jobs) if files else []
    found = match(order, wanted, seen, told)
    return _prepared(
        order, order_path, found, refused, notes, after, (spec, named), settings,
        of_order(into, jobs),
    )  # fmt: skip


def _files(
    arts: Sequence[Path], into: Aside
) -> tuple[list[Delivered], list[RefusedFile], list[str]]:
    """Return the art of a delivery, what cannot be read of it, and what is to be told."""
    paths: list[Path] = []
    for art in arts:
        if art.is_dir():
            paths += sorted(e for e in art.iterdir() if e.is_file() and e.name[0] != ".")
        elif not art.exists():
            raise UsageError(f"{art}: there is no such file; see that name and folder are right")
        else:
            paths.append(art)
    packed = any(looks_like_zip(path) for path in paths)
    delivery = unpack(dict.fromkeys(paths), into.folder() if packed else Path())
    refused, notes = list(delivery.refused), list(delivery.notes)
    files: list[Delivered] = []
    named = {shown(art.name) for art in arts}
    for file in delivery.files:
        reason = not_art(file.path)
        ours = reason == "prepcheck wrote it"
        aside = ours or is_writing(file.path) or file.path.suffix == ".toml"
        if file.name not in named and aside:
            notes.append(f"{file.name}: left out: {reason}")
        elif ours:
            raise UsageError(f"{file.name}: prepcheck wrote this file; name the artwork itself")
        else:
            files.append(file)
    return files, refused, notes


def _refuse_unknown(told: Mapping[str, str], order: Order, files: Sequence[Delivered]) -> None:
    parts = [part.name for part in order.part]
    names = [file.name for file in files]
    lines = [
        f"--as {name}={part}: the order has no part {part!r}; {hint(part, parts)}"
        for name, part in told.items()
        if part not in parts
    ]
    lines += [
        f"--as {name}={part}: there is no such file in this delivery; {hint(name, names)}"
        for name, part in told.items()
        if name.rpartition("#")[0] not in names and name not in names
    ]
    if lines:
        raise UsageError(*lines)


def _specs_of(
    order: Order, folder: Path, spec: str | Path | None, named: Mapping[str, str]
) -> dict[str, tuple[Spec, ...]]:
    """Return what each part may be: its spec, or every shipped one of the order's format."""
    load = cache(load_spec)
    if spec is not None:
        return {part.name: (load(spec),) for part in order.part}
    shipped = tuple(load(name) for name in spec_names())
    fitting = tuple(s for s in shipped if s.format in (None, order.order.format))
    found: dict[str, tuple[Spec, ...]] = {}
    for part in order.part:
        if part.name in named:
            found[part.name] = (load(named[part.name]),)
        elif part.spec is None:
            found[part.name] = fitting
        else:
            own = part.spec.endswith(".toml")
            found[part.name] = (load(folder / part.spec if own else part.spec),)
    return found


def _earlier(
    part: OrderPart,
    order_path: Path,
    after: EarlierRound | None,
    specs: Mapping[str, tuple[Spec, ...]],
) -> Earlier | None:
    if after is None:
        return None
    before = after.part(part.name)
    if before is None:
        return None
    path = after.file_of(part, order_path)
    seen: Seen | None = None
    if path is not None:
        (seen,) = look_at([Delivered(before.file, path)], specs[part.name])
    return Earlier(before.sha256, before.file, seen)


def _prepared(
    order: Order,
    path: Path,
    found: Matched,
    refused: Sequence[RefusedFile],
    notes: Sequence[str],
    after: EarlierRound | None,
    specs: tuple[str | Path | None, Mapping[str, str]],
    settings: Settings,
    inside: LookInside,
) -> Prepared:
    arrived = {m.part: Arrived(m.file.path, m.file.name, m.page) for m in found.matches}
    lines = [*notes, *(str(one) for one in refused), *(str(q) for q in found.questions)]
    lines += [str(m) for m in found.matches if _worth_telling(m)]
    lines += [f"{file.name}: no part of the order" for file, _ in found.loose]
    spare = tuple(dict.fromkeys([
        *(file.name for file, _ in found.loose),
        *(one.name for one in refused),
    ]))  # fmt: skip
    asked = {name for question in found.questions for name in question.parts}
    if after is not None:
        parts: Sequence[OrderPart] = order.part
        kept = after.kept(order, path, set(arrived))
    else:
        parts = [p for p in order.part if p.name in arrived or p.name in asked]
        kept = {}
    if not parts:
        names = ", ".join(part.name for part in order.part)
        raise UsageError(
            *(f"{name}: this is no part of the order {path} ({names}); say which it is with "
              f"--as {name}=PART" for name in spare)
        )  # fmt: skip
    asks = tuple(asking(order, found.questions))
    for part in order.part:
        known = after is not None and after.part(part.name) is not None
        if part.name in asked and not known:
            # What it may be is asked of all the parts in question, once.
            kept[part.name] = replace(awaited_part(part, ()), findings=())
    batch = batch_of_delivery(
        order,
        path,
        parts,
        arrived,
        kept=kept,
        spare=spare,
        spec=specs[0],
        named=specs[1],
        settings=settings,
        inside=inside,
    )
    standing = {one.result.name for one in batch.standing if one.result.kept_from}
    still = () if after is None else after.still(standing, set(arrived))
    findings = (*asks, *batch.findings, *still)
    return Prepared(replace(batch, findings=findings), (*lines, *batch.told))


def _worth_telling(found: Match) -> bool:
    return found.reasons != ("the order names it",)
