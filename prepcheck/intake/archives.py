"""Takes art out of archives that are named among it, or in an order as the file of a part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from prepcheck.findings import Finding, PartResult, Severity
from prepcheck.intake.aside import Aside
from prepcheck.intake.unpack import Delivered, looks_like_zip, unpack
from prepcheck.order import Order
from prepcheck.run.answer import Task
from prepcheck.run.archived import Arrived, Inside, LookInside, OpenedArchive, Unzip, Wish
from prepcheck.run.awaited import MISSING_PART, awaited_part
from prepcheck.run.beside import is_writing, not_art
from prepcheck.run.unreadable import unreadable_part
from prepcheck.words import listed

_NO_ART = "there is no artwork in it; send the artwork itself"


def opener(into: Aside) -> Unzip:
    """Return what takes files out of ZIP archives, each archive to a folder of its own."""

    def opened(path: Path) -> OpenedArchive | None:
        if not looks_like_zip(path):
            return None
        place = into.folder()
        folder = place / f"delivery-{len(list(place.iterdir()))}"
        folder.mkdir()
        delivery = unpack([path], folder)
        return OpenedArchive(
            tuple(Arrived(file.path, file.name) for file in delivery.files),
            tuple((one.name, one.why) for one in delivery.refused),
            delivery.notes,
        )

    return opened


def of_order(into: Aside, jobs: int) -> LookInside:
    """Return what finds parts in archives that an order names for them.

    The one file of art in an archive is the part, or holds the parts; of several, those are taken
    that plainly are the parts, and it is asked about the others.
    """
    unzip = opener(into)

    def inside(path: Path, order: Order, wishes: Sequence[Wish]) -> Inside | None:
        opened = unzip(path)
        return None if opened is None else _inside(path, opened, order, wishes, jobs)

    return inside


def _inside(
    path: Path, opened: OpenedArchive, order: Order, wishes: Sequence[Wish], jobs: int
) -> Inside:
    art, refused = [], list(opened.refused)
    for file in opened.files:
        reason = not_art(file.path)
        if reason is None:
            art.append(file)
        elif not is_writing(file.path) and file.path.suffix.lower() != ".toml":
            refused.append((file.name, reason))
    told = (*opened.notes, *(f"{name}: {why}" for name, why in refused))
    if not art:
        name, why = refused[0] if refused else (path.name, _NO_ART)
        return Inside(standing={w[0].name: _unread(w, path, name, why) for w in wishes}, told=told)
    if len(art) == 1:
        return Inside({part.name: art[0] for part, _ in wishes}, told=told)
    found = _matched(path, art, order, wishes, jobs)
    spare = tuple(dict.fromkeys((*found.spare, *(name for name, _ in refused))))
    return replace(found, spare=spare, told=(*told, *found.told))


def _unread(wish: Wish, path: Path, name: str, why: str) -> PartResult:
    """Return what stands for a part of which the archive holds nothing that can be read."""
    part, specs = wish
    return unreadable_part(Task(part.name, name, path, specs, part=part), why).result


def _matched(
    path: Path, art: Sequence[Arrived], order: Order, wishes: Sequence[Wish], jobs: int
) -> Inside:
    """Return which of several files the parts are."""
    from prepcheck.intake.asking import asking
    from prepcheck.intake.look import look_at
    from prepcheck.intake.match import match, quoted
    from prepcheck.intake.wanted import Wanted

    every = tuple({spec.name: spec for _, specs in wishes for spec in specs}.values())
    seen = look_at([Delivered(file.name, file.path) for file in art], every, jobs)
    found = match(order, [Wanted(*wish) for wish in wishes], seen)
    arrived = {m.part: Arrived(m.file.path, m.file.name, m.page) for m in found.matches}
    asked = list(asking(order, found.questions))
    lines = [*map(str, found.questions), *map(str, found.matches)]
    standing = {}
    loose = list(dict.fromkeys(file.name for file, _ in found.loose))
    in_question = {name for question in found.questions for name in question.parts}
    for part, _ in wishes:
        if part.name in arrived:
            continue
        if part.name not in in_question and not loose:
            standing[part.name] = awaited_part(part, (), archive=True)
            continue
        standing[part.name] = replace(awaited_part(part, ()), findings=())
        if part.name not in in_question:  # those are asked of together, once
            asked.append(_which(part.name, loose))
            lines.append(
                f"say which file {part.name} is with prepcheck check {quoted(str(path))} --order "
                f"ORDER.toml --as {quoted(loose[0])}={quoted(part.name)}"
            )
    spare = () if any(one.code == "which-file" for one in asked) else tuple(loose)
    return Inside(arrived, standing, tuple(asked), spare, tuple(lines))


def _which(name: str, files: Sequence[str]) -> Finding:
    one = len(files) == 1
    which = f"whether {files[0]} is" if one else f"which of {listed(files, 'or')} is"
    return Finding(
        MISSING_PART,
        Severity.QUERY,
        f"{listed(files)} came in the archive that the order names for {name}, and nothing in "
        f"{'it' if one else 'them'} tells {'that it is' if one else 'which of them is'} {name}.",
        f"Please tell us {which} {name}.",
        "the order",
        code="which-file",
        subject=name,
        parts=(name,),
    )
