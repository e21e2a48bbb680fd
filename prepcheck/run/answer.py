"""What a worker is asked and what it answers: plain data that crosses a pipe."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from prepcheck.frozen import dataclass
from prepcheck.order import Order, OrderPart
from prepcheck.proof.model import ProofPart
from prepcheck.run.plate_use import PlatesUsed
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.sheets.digest import Digest
from prepcheck.spec.model import Spec

T = TypeVar("T")


@dataclass(frozen=True)
class Sharing:
    """Parts whose one file holds a page for each, while the order does not say which: all of them
    in its order, the specs each may be of, and the pages (1-based) that it names for others."""

    parts: tuple[OrderPart, ...]
    specs: tuple[tuple[Spec, ...], ...]
    taken: tuple[int, ...] = ()


@dataclass(frozen=True)
class FaceSeen:
    """A file whose one page is one face of a piece of several: the piece's spec, by how many mm
    the page misses each of its faces, and whether it says what stands on an outside: type along
    the spine, a barcode's number."""

    spec: str
    misses: tuple[float, ...]
    spine: bool = False
    number: bool = False


@dataclass(frozen=True)
class Task:
    """One part to examine.

    `file` is how the report names the file at `path`. With several `specs` the piece is to be
    recognised among them; `told` says who named the spec when there is but one. `page` (1-based)
    is the one page of loose art that is meant. A file of `several` pages that are each a piece of
    their own is not examined: the answer names its pages, and `own_specs` are those named for
    single ones of them.
    """

    name: str
    file: str
    path: Path
    specs: tuple[Spec, ...]
    told: str | None = None
    part: OrderPart | None = None
    order: Order | None = None
    with_pictures: bool = False
    with_plates: bool = False
    """Whether plates and ink are shown besides, as for the plant."""
    with_inks: bool = False
    """Whether to say what each plate carries, as a press sheet needs it."""
    settings: Settings = DEFAULT
    sharing: Sharing | None = None
    page: int | None = None
    several: bool = False
    own_specs: tuple[tuple[int, Spec], ...] = ()
    among: bool = False
    """Whether it is one of several pieces of loose art, so that what it says is kept to be held
    against the others."""
    face: str | None = None
    """Which face of its piece the one page of loose art is, and `face_why` in words."""
    face_why: str = ""
    others: tuple[Spec, ...] = ()
    """What the other parts of the order are, where it is known what this one is."""


@dataclass(frozen=True)
class Answer:
    """The part examined, or why the question itself was wrong (one sentence a fault).

    `page` is the page that was found to be the part, where the order did not say; `pages` are
    pages that are each a piece of their own, of which none was examined; `face` is what was seen
    of a file that is one face of a piece, and was not examined either. `aside` is for who runs
    the check, and no matter of the client's.
    """

    proof: ProofPart | None = None
    digest: Digest | None = None
    usage_faults: tuple[str, ...] = ()
    order_faults: tuple[str, ...] = ()
    page: int | None = None
    pages: tuple[int, ...] = ()
    face: FaceSeen | None = None
    used: PlatesUsed | None = None
    aside: str = ""
    fits: tuple[str, ...] = ()
    """Of the other parts' specs those that its size fits, where it does not fit its own."""


def part_found(part: OrderPart, answer: Answer) -> OrderPart:
    """Return a part with the page that it was found on, where the order does not say."""
    return part if answer.page is None else part.replaced(page=answer.page)


def with_spec(proof: ProofPart, task: Task) -> ProofPart:
    """Return a worker's answer with the spec it names, taken from the task."""
    spec = next((spec for spec in task.specs if spec.name == proof.result.spec), None)
    return replace(proof, spec=spec)


def without_numpy(value: T) -> T:
    """Return plain data with every numpy number in it as Python's own."""
    return _plain(value)  # type: ignore[no-any-return]


def _plain(value: Any) -> Any:
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, tuple):
        items = [_plain(item) for item in value]
        return type(value)(*items) if hasattr(value, "_fields") else tuple(items)
    if isinstance(value, dict):
        return {_plain(key): _plain(item) for key, item in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{f.name: _plain(getattr(value, f.name)) for f in fields(value)})
    return value
