"""A part of an order whose file has not come: what stands for it among the results."""

from __future__ import annotations

from collections.abc import Sequence

from prepcheck.faults import nearest
from prepcheck.findings import NOT_RECEIVED, Finding, PartResult, Severity
from prepcheck.order import OrderPart

MISSING_PART = "order.missing-part"
_SOURCE = "the order"


def awaited_part(part: OrderPart, spare: Sequence[str], spec: str | None = None) -> PartResult:
    """Return the result of a part whose file is not there: a query that asks for it.

    Of the files that came and belong to no part, one with a like name is pointed out.
    """
    if part.file is None:
        said = f"No file for {part.name} has come yet."
    else:
        said = f"The file for {part.name} is not there: the order names {part.file}."
    like = () if part.file is None else nearest(part.file, spare)
    fix = f"Please send the file for {part.name}."
    if like:
        said += f" {like[0]} came too and is named for no part."
        fix = f"Please tell us whether {like[0]} is the file for {part.name}, or send the file."
    finding = Finding(
        MISSING_PART,
        Severity.QUERY,
        said,
        fix,
        _SOURCE,
        measured=0.0,
        required=1.0,
        unit="files",
        code="which-file" if like else NOT_RECEIVED,
        subject=part.name,
    )
    return PartResult(
        name=part.name,
        file=part.file or "",
        sha256="",
        bytes=0,
        spec=spec,
        recognised_by="not received",
        pages=0,
        trim_mm=None,
        trim_found_by=None,
        outcomes=(),
        findings=(finding,),
        side=part.side,
        received=False,
    )
