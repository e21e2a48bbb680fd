"""Orders under examination made by hand: digests of known words and pictures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from prepcheck.findings import Finding, PartResult, Status
from prepcheck.geometry import Box, Grid
from prepcheck.judging.on_orders import OrderExamined, run_order_checks
from prepcheck.judging.registry import order_checks
from prepcheck.order import Order, OrderHead, OrderPart
from prepcheck.sheets.digest import Digest, LiveWords, Look, PageDigest
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.spec.load import load_spec

LETTER = Box(0.0, 20.0, 2.0, 22.0)


def look(rgb: np.ndarray | None = None, size_mm: float = 100.0, pitch: float = 0.25) -> Look:
    """Return a disc with a picture; white when none is given."""
    grid = Grid.over(Box.centred(size_mm, size_mm), pitch)
    x, y = grid.centres()
    inside = np.hypot(x[None, :], y[:, None]) < size_mm / 2
    if rgb is None:
        rgb = np.full((grid.height, grid.width, 3), 255, np.uint8)
    return Look(grid, rgb.tobytes(), inside.astype(np.uint8).tobytes())


def digest(
    *texts: str,
    panel: str = "face",
    outlined: int = 0,
    pictures_mm2: float = 0.0,
    rgb: np.ndarray | None = None,
    hole_mm: float | None = None,
) -> Digest:
    words = tuple(LiveWords(text, panel, LETTER) for text in texts)
    return Digest((PageDigest(1, words, outlined, pictures_mm2, look(rgb)),), hole_mm)


def piece(
    name: str,
    kept: Digest | None,
    *,
    side: str | None = None,
    spec: str | None = "label-12in",
    expect: Sequence[str] = (),
    inks: Sequence[str] | None = None,
    printed: Sequence[str] = ("Black",),
    file: str | None = None,
    sha256: str = "",
    page: int | None = None,
    face: str | None = None,
) -> Piece:
    file = file or f"{name.lower().replace(' ', '-')}.pdf"
    part = OrderPart(
        name=name, file=file, side=side, spec=spec, expect=tuple(expect), page=page, face=face,
        inks=None if inks is None else tuple(inks),
    )  # fmt: skip
    result = PartResult(
        name=name, file=file, sha256=sha256 or f"hash of {file}", bytes=1, spec=spec,
        recognised_by="named in the order", pages=1, trim_mm=(100.0, 100.0),
        trim_found_by="TrimBox", outcomes=(), findings=(), measured={"inks": tuple(printed)},
        side=side,
    )  # fmt: skip
    return Piece(part, result, load_spec(spec) if spec else None, kept)


def label(side: str, *texts: str, **options: object) -> Piece:
    kept = {key: options.pop(key) for key in list(options) if key in
            ("outlined", "pictures_mm2", "rgb", "hole_mm")}  # fmt: skip
    return piece(f"Label {side}", digest(*texts, **kept), side=side, **options)  # type: ignore[arg-type]


def exam(*pieces: Piece, **head: object) -> OrderExam:
    facts = {
        "number": "P-0417", "client": "Fernweh Tapes", "title": "Harbour Songs",
        "catalogue": "FWT 012", "format": "12-inch", **head,
    }  # fmt: skip
    order = Order(order=OrderHead(**facts), part=tuple(piece.part for piece in pieces))  # type: ignore[arg-type]
    return OrderExam(order, tuple(pieces))


def examined(*pieces: Piece, **head: object) -> OrderExamined:
    """Run every check of orders; none may crash or be silent."""
    said = run_order_checks(exam(*pieces, **head), order_checks())
    assert [o for o in said.outcomes if o.status is Status.CRASHED] == []
    assert all(f.message and f.fix and f.source for f in said.findings)
    return said


def found(check: str, *pieces: Piece, **head: object) -> list[Finding]:
    return [f for f in examined(*pieces, **head).findings if f.check == check]


def status(check: str, *pieces: Piece, **head: object) -> Status:
    return next(o.status for o in examined(*pieces, **head).outcomes if o.check == check)
