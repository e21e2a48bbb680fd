"""Turns what was named (order files, art files, folders) into batches of parts to examine."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, cached_property
from pathlib import Path

from prepcheck.errors import OrderError, SpecError, UsageError
from prepcheck.faults import (
    A_FOLDER,
    A_PIPE,
    NO_SUCH_FILE,
    hint,
    nearest,
    no_plain_file,
    short_name,
)
from prepcheck.findings import Finding, OrderFacts, PartResult
from prepcheck.frozen import dataclass
from prepcheck.order import Order, OrderPart, load_order, part_path
from prepcheck.output import is_ours
from prepcheck.run.among import among_others
from prepcheck.run.answer import Task
from prepcheck.run.archived import (
    Arrived,
    LookInside,
    OpenedArchive,
    Unzip,
    inside_archives,
    no_archive,
)
from prepcheck.run.awaited import awaited_part
from prepcheck.run.beside import is_order, is_writing, not_art, spare_files
from prepcheck.run.folders import contents_of
from prepcheck.run.output_names import distinct, file_names, shown_name, slug, stem_in
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.run.unreadable import unreadable_part
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec

_NONE_ARRIVED: Mapping[str, Arrived] = {}
_NONE_KEPT: Mapping[str, PartResult] = {}
_NONE_NAMED: Mapping[str, str] = {}
_PAGE_OF = re.compile(r"(.+)(?:#|, page )([1-9]\d{0,5})")
_FOR_THIS_CHECK = "named for this check"


@dataclass(frozen=True)
class NotExamined:
    """A part that is not examined: its place among all parts, and the result it has anyway."""

    place: int
    result: PartResult


@dataclass(frozen=True)
class Batch:
    """One order, or loose art files, that are examined together and share one proof.

    `stem` is what its outputs are named after. Parts whose files are not there, or stand as they
    were judged before, are `standing`, in the order of their places; `spare` are files that came
    with the order and that none of its parts names.
    """

    stem: str
    facts: OrderFacts | None
    tasks: tuple[Task, ...]
    order: Order | None = None
    order_path: Path | None = None
    standing: tuple[NotExamined, ...] = ()
    spare: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    """What is known of the order beforehand, from an earlier round or the way it came."""
    told: tuple[str, ...] = ()
    """What is to be told of how its files were found, a line each."""

    @property
    def inputs(self) -> tuple[Path, ...]:
        own = () if self.order_path is None else (self.order_path,)
        return (*own, *(task.path for task in self.tasks))


@dataclass(frozen=True)
class FaultyOrder:
    """An order that cannot be checked: its file, and what is wrong."""

    path: Path
    error: OrderError | SpecError


@dataclass(frozen=True)
class Gathered:
    """The batches, the files in folders that were left out, each with the reason, and the orders
    among others that cannot be checked."""

    batches: tuple[Batch, ...]
    left_out: tuple[str, ...] = ()
    faulty: tuple[FaultyOrder, ...] = ()

    @property
    def whole(self) -> tuple[Batch, ...]:
        """The batches where every order can be checked; else raises what is wrong."""
        _refuse(self.faulty)
        return self.batches


def gather(
    arts: Sequence[Path],
    *,
    order_path: Path | None = None,
    spec: str | Path | None = None,
    settings: Settings = DEFAULT,
    unzip: Unzip = lambda path: None,
    inside: LookInside = no_archive,
    named: Mapping[str, str] = _NONE_NAMED,
) -> Gathered:
    """Return what to examine.

    An order file and each order in a folder are a batch of their own; all art files named
    together are one. Archives that `unzip` opens count as what is in them, those that an order
    names for its parts as the files that `inside` finds in them. With `order_path`, the
    art files are parts of that order; with none named, all its parts. `named` maps parts (or loose
    files) to their specs, and comes before `spec`, which is for all.

    Raises UsageError, OrderError or SpecError with every fault found, where nothing is left to
    check.
    """
    specs = _Specs(None if spec is None else load_spec(spec), named)
    if order_path is not None:
        batch = _order_batch(order_path, specs, settings, arts, inside)
        return Gathered((batch,), batch.told)
    if not arts:
        raise UsageError("nothing to check; name an order file, art files or a folder")
    orders: list[Path] = []
    below: set[Path] = set()
    loose = _Loose(unzip)
    for art in arts:
        why = no_plain_file(art)
        if why == A_FOLDER:
            held = contents_of(art)
            orders += held.orders
            below |= {path for path in held.orders if path.parent != art}
            loose.add(held.art)
            loose.left_out += held.left_out
        elif why not in (None, A_PIPE):  # such a thing as art becomes a finding
            like = _like(art) if why == NO_SUCH_FILE else ""
            raise UsageError(f"{short_name(art)}: {why}{like}")
        elif is_ours(art):
            raise UsageError(f"{art}: prepcheck wrote this file; name the artwork it is about")
        elif art.suffix.lower() == ".toml":
            orders.append(art)
        else:
            loose.add([art])
    orders += loose.orders
    batches, faulty = _order_batches(list(dict.fromkeys(orders)), specs, settings, inside)
    if loose.files or loose.refused:
        batches.append(_loose_batch(loose, specs, settings))
    if not batches:
        _refuse(faulty)
    if not faulty:
        specs.refuse_unused()
    stems = [
        stem_in(batch.order_path.parent.name, batch.stem)
        if batch.order_path in below and batch.order_path is not None
        else batch.stem
        for batch in batches
    ]
    apart = distinct(stems, [batch.order_path for batch in batches])
    batches = [replace(batch, stem=stem) for batch, stem in zip(batches, apart, strict=True)]
    told = (line for batch in batches for line in batch.told)
    return Gathered(tuple(batches), (*loose.left_out, *told), faulty)


class _Loose:
    """Art files that no order names, those in archives taken out; an order in an archive counts
    as the order, with the files beside it."""

    def __init__(self, unzip: Unzip) -> None:
        self._unzip = unzip
        self.files: list[Arrived] = []
        self.orders: list[Path] = []
        self.refused: list[tuple[str, str]] = []
        self.left_out: list[str] = []

    def add(self, paths: Sequence[Path]) -> None:
        for path in paths:
            if any(file.path == path for file in self.files):
                continue
            opened = self._unzip(path)
            if opened is None:
                self.files.append(Arrived(path, shown_name(path.name)))
            else:
                self._open(opened)

    def _open(self, opened: OpenedArchive) -> None:
        self.refused += opened.refused
        self.left_out += opened.notes
        orders = [f for f in opened.files if f.path.suffix.lower() == ".toml" and is_order(f.path)]
        if orders:
            self.orders += [file.path for file in orders]
            return
        for file in opened.files:
            reason = not_art(file.path)
            if reason is None:
                self.files.append(file)
            elif is_writing(file.path):
                self.left_out.append(f"{file.name}: left out: {reason}")
            else:
                self.refused.append((file.name, reason))


def order_batch(order: Order, folder: Path, spec: Spec | None, settings: Settings) -> Batch:
    """Return the batch of an order that is at hand; `folder` is where its files are looked for."""
    return _batch_of(order, None, folder, order.part, _Specs(spec), settings, no_archive)


def batch_of_delivery(
    order: Order,
    path: Path,
    parts: Sequence[OrderPart],
    arrived: Mapping[str, Arrived],
    *,
    kept: Mapping[str, PartResult],
    spare: tuple[str, ...] = (),
    spec: str | Path | None = None,
    named: Mapping[str, str] = _NONE_NAMED,
    settings: Settings = DEFAULT,
    inside: LookInside = no_archive,
) -> Batch:
    """Return the batch of an order of which files `arrived`, by the names of the parts they are.

    A part of which no file arrived has the result it is `kept` with, else its own file where that
    is there, else it is not received.
    """
    specs = _Specs(None if spec is None else load_spec(spec), named)
    return _batch_of(order, path, path.parent, parts, specs, settings, inside, arrived, kept, spare)


class _Specs:
    """The spec that was named for all parts, if any; else loads each spec once, whoever asks."""

    def __init__(self, named: Spec | None, own: Mapping[str, str] | None = None) -> None:
        self.named = named
        self.load = cache(load_spec)
        self._own = dict(own or {})
        self._asked: set[str] = set()

    def own(self, *names: str) -> Spec | None:
        """Return the spec that was named for one of these alone."""
        self._asked.update(names)
        found = next((self._own[name] for name in names if name in self._own), None)
        return None if found is None else self.load(found)

    def of_pages(self, *names: str) -> tuple[tuple[int, Spec], ...]:
        """Return the specs that were named for single pages of a file, as 'labels.pdf#2'."""
        found = []
        for key, spec in self._own.items():
            match = _PAGE_OF.fullmatch(key)
            if match is not None and match[1] in names:
                self._asked.add(key)
                found.append((int(match[2]), self.load(spec)))
        return tuple(found)

    def refuse_unused(self) -> None:
        """Raise UsageError for what a spec was named for and is not there."""
        lines = [
            f"--spec {name}={spec}: there is no part or file {name!r}; {hint(name, self._asked)}"
            for name, spec in self._own.items()
            if name not in self._asked
        ]
        if lines:
            raise UsageError(*lines)

    @cached_property
    def shipped(self) -> tuple[Spec, ...]:
        return tuple(self.load(name) for name in spec_names())

    def of(self, part: OrderPart, folder: Path) -> tuple[tuple[Spec, ...], str | None]:
        """Return what a part may be, and who says so when that is one."""
        own = self.own(part.name)
        if own is not None:
            return (own,), _FOR_THIS_CHECK
        if self.named is not None:
            return (self.named,), _FOR_THIS_CHECK
        if part.spec is None:
            return self.shipped, None
        beside = part.spec.endswith(".toml")
        return (self.load(folder / part.spec if beside else part.spec),), "named in the order"


def _order_batches(
    paths: Sequence[Path], specs: _Specs, settings: Settings, inside: LookInside
) -> tuple[list[Batch], tuple[FaultyOrder, ...]]:
    """Return the orders that can be checked, and those that cannot."""
    batches: list[Batch] = []
    faulty: list[FaultyOrder] = []
    for path in paths:
        try:
            batches.append(_order_batch(path, specs, settings, (), inside))
        except (OrderError, SpecError) as fault:
            faulty.append(FaultyOrder(path, fault))
    return batches, tuple(faulty)


def _refuse(faulty: Sequence[FaultyOrder]) -> None:
    """Raise all that is wrong with some orders as one error."""
    if faulty:
        raise type(faulty[0].error)(*(line for one in faulty for line in one.error.lines))


def _order_batch(
    path: Path, specs: _Specs, settings: Settings, only: Sequence[Path], inside: LookInside
) -> Batch:
    order = load_order(path)
    parts = order.part if not only else _chosen(order, path, only)
    return _batch_of(order, path, path.parent, parts, specs, settings, inside)


def _chosen(order: Order, path: Path, only: Sequence[Path]) -> tuple[OrderPart, ...]:
    files = {
        file.resolve(): part.file
        for part in order.part
        if (file := part_path(part, path.parent)) is not None
    }
    names = ", ".join(dict.fromkeys(name for name in files.values() if name))
    lines = [
        f"{art}: the order {path} has no part with this file; it names: {names}"
        for art in only
        if art.resolve() not in files
    ]
    if lines:
        raise UsageError(*lines)
    wanted = {art.resolve() for art in only}
    return tuple(
        part
        for part in order.part
        if (file := part_path(part, path.parent)) is not None and file.resolve() in wanted
    )


def _batch_of(
    order: Order,
    path: Path | None,
    folder: Path,
    parts: Sequence[OrderPart],
    specs: _Specs,
    settings: Settings,
    look: LookInside,
    arrived: Mapping[str, Arrived] = _NONE_ARRIVED,
    kept: Mapping[str, PartResult] = _NONE_KEPT,
    came: tuple[str, ...] = (),
) -> Batch:
    tasks: list[Task] = []
    standing: list[NotExamined] = []
    whole = len(parts) == len(order.part)
    beside = spare_files(order, path) if whole and path is not None and not arrived else ()
    known = _specs_of(order, path, folder, parts, specs)
    wishes = [(part, likely) for part, (likely, _) in known if part.name not in {*arrived, *kept}]
    inside = inside_archives(order, folder, wishes, look)
    arrived = {**inside.arrived, **arrived}
    stays = {**inside.standing, **kept}
    spare = (*came, *beside, *inside.spare)
    for place, (part, (likely, told)) in enumerate(known):
        found = arrived.get(part.name)
        if found is not None:
            own = part.replaced(file=found.name, page=found.page or part.page)
            tasks.append(
                Task(part.name, found.name, found.path, likely, told, own, order, settings=settings)
            )
            continue
        if part.name in stays:
            standing.append(NotExamined(place, stays[part.name]))
            continue
        file = part_path(part, folder)
        if file is None or part.file is None or not file.exists():
            spec = likely[0].name if len(likely) == 1 else None
            broken = file is not None and file.is_symlink()
            standing.append(NotExamined(place, awaited_part(part, spare, spec, broken=broken)))
            continue
        tasks.append(Task(part.name, part.file, file, likely, told, part, order, settings=settings))
    tasks = among_others(tasks, order)
    stem = slug(order.order.number)
    if not whole:
        stem = f"{stem}-{slug(parts[0].name)}"
    return Batch(
        stem, facts_of(order, path), tuple(tasks), order, path, tuple(standing), spare,
        inside.asked, inside.told,
    )  # fmt: skip


def _specs_of(
    order: Order, path: Path | None, folder: Path, parts: Sequence[OrderPart], specs: _Specs
) -> list[tuple[OrderPart, tuple[tuple[Spec, ...], str | None]]]:
    """Return the parts, each with what it may be and who says so. Raises SpecError."""
    known: list[tuple[OrderPart, tuple[tuple[Spec, ...], str | None]]] = []
    faults: list[str] = []
    for part in parts:
        try:
            known.append((part, specs.of(part, folder)))
        except SpecError as fault:
            faults += [f"{path or 'order'}: part {part.name!r}: {line}" for line in fault.lines]
    if faults:
        raise SpecError(*faults)
    return known


def facts_of(order: Order, path: Path | None) -> OrderFacts:
    """Return what the order says of itself; `path` is its file, where it has one."""
    head = order.order
    return OrderFacts(
        number=head.number,
        client=head.client,
        title=head.title,
        catalogue=head.catalogue,
        format=head.format,
        discs=head.discs,
        speed=head.speed,
        barcode=head.barcode,
        quantity=head.quantity,
        file=None if path is None else path.name,
    )


def _loose_batch(loose: _Loose, specs: _Specs, settings: Settings) -> Batch:
    files = loose.files
    names = [shown_name(name) for name in file_names([Path(file.name) for file in files])]
    tasks = []
    for name, file in zip(names, files, strict=True):
        named = specs.own(name, file.name) or specs.named
        likely = specs.shipped if named is None else (named,)
        told = None if named is None else _FOR_THIS_CHECK
        own = specs.of_pages(name, file.name)
        tasks.append(
            Task(
                name, file.name, file.path, likely, told, settings=settings, several=True,
                own_specs=own,
            )
        )  # fmt: skip
    refused = tuple(
        NotExamined(
            len(tasks) + index,
            unreadable_part(Task(name, name, Path(name), ()), why).result,
        )
        for index, (name, why) in enumerate(loose.refused)
    )
    more = len(tasks) + len(refused) - 1
    first = files[0].name if files else loose.refused[0][0]
    stem = slug(Path(first).stem) + (f"-and-{more}-more" if more else "")
    return Batch(stem, None, tuple(tasks), standing=refused)


def by_pages(batch: Batch, apart: Mapping[str, tuple[int, ...]]) -> Batch:
    """Return a batch of loose art in which files are a task for each of the pages named, by the
    names of their tasks."""
    tasks: list[Task] = []
    for task in batch.tasks:
        own = dict(task.own_specs)
        for page in apart.get(task.name, ()):
            spec = own.get(page)
            tasks.append(
                replace(
                    task,
                    name=f"{task.name}, page {page}",
                    page=page,
                    specs=task.specs if spec is None else (spec,),
                    told=task.told if spec is None else _FOR_THIS_CHECK,
                )
            )
        if task.name not in apart:
            tasks.append(task)
    more = len(tasks) - len(batch.tasks)
    standing = tuple(replace(one, place=one.place + more) for one in batch.standing)
    return replace(batch, tasks=tuple(tasks), standing=standing)


def _like(path: Path) -> str:
    if not path.parent.is_dir():
        return f"; nor is there a folder {path.parent}"
    close = nearest(path.name, (e.name for e in path.parent.iterdir() if e.is_file()))
    return f"; did you mean {close[0]!r}?" if close else ""
