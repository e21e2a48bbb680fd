"""The same art is examined once in a run of tests: what came of it is given again.

Kept is only what workers answered that are asked with the same task about files of the same
names and bytes, and never what failed. Pictures are left out of it, since they take much memory.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

from prepcheck.tables import Table

_MOST_BYTES = 1 << 24
"""Longest file that is read once more to know it again."""

_kept: dict[str, Any] = {}


def examined_once() -> None:
    """Have parts, deliveries and pairs examined by `answered_once` in this process."""
    from prepcheck.intake import look
    from prepcheck.run import compare, executor

    for module in (executor, look, compare):
        module.isolated = answered_once(module.isolated)  # type: ignore[attr-defined]


def answered_once(isolated: Callable[..., Iterator[Any]]) -> Callable[..., Iterator[Any]]:
    """Return what runs tasks in workers, of those that nobody has answered yet."""

    def ended(
        work: Callable[[Any], Any],
        tasks: Sequence[Any],
        kind: type,
        *,
        started: Callable[[int], None] = lambda index: None,
        meanwhile: Callable[[], object] = lambda: None,
        **how: Any,
    ) -> Iterator[Any]:
        from prepcheck.run.message import Failed
        from prepcheck.run.worker import Ended

        keys = [_key(work, task) for task in tasks]
        new = [index for index, key in enumerate(keys) if key not in _kept]
        for index, key in enumerate(keys):
            if index not in new:
                started(index)
                yield Ended(index, _kept[key])
        if not new:
            meanwhile()
            return
        own = [tasks[index] for index in new]
        told: dict[str, Any] = {"started": lambda at: started(new[at]), "meanwhile": meanwhile}
        with closing(isolated(work, own, kind, **told, **how)) as ends:
            for end in ends:
                index = new[end.index]
                if (key := keys[index]) and not isinstance(end.answer, Failed):
                    _kept[key] = end.answer
                yield Ended(index, end.answer)

    return ended


def _key(work: Callable[[Any], Any], task: Any) -> str:
    """Return what a task is known by, nothing for one whose answer is not to be kept."""
    if getattr(task, "with_pictures", False) or not work.__module__.startswith("prepcheck."):
        return ""
    told = hashlib.sha256(f"{work.__module__}.{work.__qualname__}".encode())
    try:
        for leaf in _leaves(task):
            told.update(leaf.encode() + b"\0")
    except OSError:
        return ""
    return told.hexdigest()


def _leaves(value: Any) -> Iterator[str]:
    """Yield all that a task says; a file where it lies as its name and what it holds.

    Raises OSError.
    """
    yield type(value).__name__
    if isinstance(value, Path) and (value.is_absolute() or value.is_file()):
        if not value.is_file() or value.stat().st_size > _MOST_BYTES:
            raise FileNotFoundError(value)
        yield value.name
        yield hashlib.sha256(value.read_bytes()).hexdigest()
    elif is_dataclass(value):
        for field in fields(value):
            yield field.name
            yield from _leaves(getattr(value, field.name))
    elif isinstance(value, dict):
        for key, item in value.items():
            yield repr(key)
            yield from _leaves(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _leaves(item)
    elif isinstance(value, Table):
        yield from _leaves({name: getattr(value, name) for name in value.__struct_fields__})
    else:
        yield repr(value)
