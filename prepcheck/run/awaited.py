"""A part of an order whose file has not come: what stands for it among the results."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePath

from prepcheck.faults import nearest
from prepcheck.findings import NOT_RECEIVED, Finding, PartResult, Severity
from prepcheck.order import OrderPart
from prepcheck.sheets.texts import compact

MISSING_PART = "order.missing-part"
_SOURCE = "the order"


def awaited_part(
    part: OrderPart,
    spare: Sequence[str],
    spec: str | None = None,
    *,
    broken: bool = False,
    instead: str = "",
    archive: bool = False,
) -> PartResult:
    """Return the result of a part whose file is not there: a query that asks for it.

    `broken` says that there is a link that leads nowhere, `instead` names the part that its file
    belongs to, `archive` that its file is an archive in which nothing is the part. Of the files
    that came and belong to no part, one with a like name is pointed out.
    """
    if instead:
        said = f"The order names {part.file} for {part.name} as well, and it is {instead}."
    elif archive:
        said = f"The order names {part.file} for {part.name}, and no file in it is that."
    elif broken:
        said = (
            f"The file for {part.name} is not there: {part.file} is a link to a file that is not."
        )
    elif part.file is None:
        said = f"No file for {part.name} has come yet."
    else:
        said = f"The file for {part.name} is not there: the order names {part.file}."
    unnamed = part.file is None or archive
    like = _called(part.name, spare) if unnamed else nearest(part.file or "", spare)
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


def _called(name: str, spare: Sequence[str]) -> tuple[str, ...]:
    """Return the spare files that are called what a part is: 'label-b.pdf' for 'Label B'."""
    return tuple(file for file in spare if compact(PurePath(file).stem) == compact(name))
