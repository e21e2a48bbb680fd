"""Looks into kept files for what tells which part of which order they are, each file once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

from prepcheck.intake.look import Seen, look_at
from prepcheck.intake.unpack import Delivered
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec

Look = Callable[[Sequence[Delivered], tuple[Spec, ...]], list[Seen]]
"""Looks into files for pieces of these specs; see `intake.look.look_at`."""


@cache
def shipped_specs() -> tuple[Spec, ...]:
    """Return every spec that prepcheck brings."""
    return tuple(load_spec(name) for name in spec_names())


def each_once(look: Look = look_at) -> Look:
    """Return what looks into each file once, however often it is asked about."""
    known: dict[tuple[Path, tuple[int, ...]], Seen] = {}
    held: list[tuple[Spec, ...]] = []

    def looked(files: Sequence[Delivered], specs: tuple[Spec, ...]) -> list[Seen]:
        held.append(specs)  # while they are held, no other has their identity
        pieces = tuple(map(id, specs))
        fresh = {file.path: file for file in files if (file.path, pieces) not in known}
        if fresh:
            for seen in look(list(fresh.values()), specs):
                known[seen.path, pieces] = seen
        return [replace(known[file.path, pieces], name=file.name) for file in files]

    return looked
