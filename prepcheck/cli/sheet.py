"""`prepcheck sheet`: labels repeated on a press sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from prepcheck.cli.terminal import (
    EXIT_CODES,
    ends_with_exit_code,
    processors,
    progress,
    put,
    settings_of,
    shown,
    with_budget,
    with_jobs,
)
from prepcheck.errors import UsageError

if TYPE_CHECKING:
    from datetime import date


@click.command(epilog=EXIT_CODES)
@click.argument("art", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="LABEL...")
@click.option(
    "--sheet", "size", metavar="SIZE", required=True,
    help="The sheet in mm, the gripper edge first (450x320), or SRA3, A3, B2 and so on, gripped "
    "at the long edge.",
)  # fmt: skip
@click.option(
    "--quantity", metavar="N", type=click.IntRange(min=1, max=1_000_000_000),
    help="Records to be made.  [default: as the order says]",
)  # fmt: skip
@click.option(
    "--overs", metavar="PERCENT", default="0", show_default=True,
    help="So many more for making ready and waste.",
)  # fmt: skip
@click.option(
    "--share", metavar="A=N,B=N",
    help="How often each side, or each file by its name (FILE#2 for a page of it), stands on a "
    "sheet.  [default: equally often, as often as there is room]",
)  # fmt: skip
@click.option(
    "--turn", metavar="DEGREES|A=DEGREES", default="0", show_default=True,
    help="Turn all labels, anticlockwise, or those named, as in A=90,B=180.",
)  # fmt: skip
@click.option(
    "--gap", metavar="MM", type=click.FloatRange(0, 200), default=2.0, show_default=True,
    help="Least distance between two bleeds.",
)  # fmt: skip
@click.option(
    "--gripper", metavar="MM", type=click.FloatRange(0, 200), default=10.0, show_default=True,
    help="Nothing is printed so near to the gripper edge.",
)  # fmt: skip
@click.option(
    "--margin", metavar="MM", type=click.FloatRange(0, 200), default=8.0, show_default=True,
    help="Bleeds keep so far from the sides, where marks stand.",
)  # fmt: skip
@click.option(
    "--grain", type=click.Choice(["long", "short"]), default="long", show_default=True,
    help="The edge along which the paper's fibres lie.",
)  # fmt: skip
@click.option(
    "--spec", metavar="NAME|PATH",
    help="The label, by a name from `prepcheck specs` or a TOML file; without it, as the order "
    "says or by its size.",
)  # fmt: skip
@click.option(
    "--despite", metavar="REASON", default="",
    help="Print art that must be corrected; the reason is printed on the sheet.",
)  # fmt: skip
@click.option(
    "--date", "made_on", metavar="YYYY-MM-DD", help="The date on the sheet.  [default: today]"
)
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), default=Path("prepcheck-out"),
    show_default=True, help="Folder for the sheet and its report.",
)  # fmt: skip
@click.option("--quiet", is_flag=True, help="Print no table and no progress, only errors.")
@with_jobs
@with_budget
@ends_with_exit_code
def sheet(
    art: tuple[Path, ...],
    size: str,
    quantity: int | None,
    overs: str,
    share: str | None,
    turn: str,
    gap: float,
    gripper: float,
    margin: float,
    grain: Literal["long", "short"],
    spec: str | None,
    despite: str,
    made_on: str | None,
    out: Path,
    quiet: bool,
    jobs: int | None,
    part_seconds: float,
    part_mb: int,
) -> None:
    """Repeat labels on a press sheet.

    With marks to drill, to cut round and to print by. LABEL are label files, or an order file: all
    its labels. They are checked first; art that must be corrected is refused. It goes on the sheet
    untouched, clipped to the circle of its bleed, in square rows or staggered ones, whichever hold
    more. Printed are a cross in each hole, marks to cut round by, register marks, a patch of each
    plate, and a line that names order, sides and files. A report says where each label stands, how
    many sheets to print, and the ink that each plate needs.

    \b
    Examples
      prepcheck sheet order.toml --sheet SRA3 --overs 6
      prepcheck sheet order.toml --sheet 450x320 --share A=4,B=4 --turn 90
      prepcheck sheet side-a.pdf side-b.tif --sheet 700x1000 --quantity 3000
    """
    from datetime import date

    from prepcheck.labelsheet.paper import paper_of
    from prepcheck.report.sheet_table import sheet_text
    from prepcheck.run.press_sheet import write_sheet
    from prepcheck.run.sheet_task import Wish

    wish = Wish(
        paper_of(size, gripper_mm=gripper, margin_mm=margin, grain=grain),
        gap,
        *_turns(turn),
        _shares(share),
        quantity,
        percent(overs),
        despite.strip(),
        date.today() if made_on is None else _date(made_on),
    )
    with progress(quiet) as told:
        report, files = write_sheet(
            art, wish, out=out, spec=spec, jobs=jobs or processors(), progress=told,
            settings=settings_of(part_seconds, part_mb),
        )  # fmt: skip
    if not quiet:
        put(sheet_text(report) + "\n" + "".join(f"{shown(file)}\n" for file in files))


def _shares(stated: str | None) -> dict[str, int]:
    shares: dict[str, int] = {}
    for name, number in _pairs(stated or ""):
        if not (name and number.isascii() and number.isdigit() and 0 < int(number) < 10_000):
            raise UsageError(f"--share {stated}: write it as A=3,B=3, with whole numbers from 1 on")
        if name in shares:
            raise UsageError(f"--share {stated}: {name} is named twice")
        shares[name] = int(number)
    return shares


def _turns(stated: str) -> tuple[float, dict[str, float]]:
    """Return the turn of all labels, and the turns of those that are named."""
    common: float | None = None
    turns: dict[str, float] = {}
    for name, number in _pairs(stated):
        try:
            turn = float(number)
        except ValueError:
            turn = math.nan
        if not -360 <= turn <= 360:
            raise UsageError(
                f"--turn {stated}: write it as 90 or A=90,B=180, in degrees from -360 to 360"
            )
        if name in turns or (not name and common is not None):
            raise UsageError(f"--turn {stated}: turns {name or 'all labels'} twice")
        if name:
            turns[name] = turn
        else:
            common = turn
    return common or 0.0, turns


def _pairs(stated: str) -> Iterator[tuple[str, str]]:
    """Yield names and what is said of them; the name is empty where there is only a number."""
    for pair in stated.split(","):
        if pair.strip():
            name, _, number = pair.rpartition("=")
            yield name.strip(), number.strip()


def percent(text: str) -> Fraction:
    """Return the overs that a text states; raises UsageError."""
    try:
        value = Fraction(text.strip().removesuffix("%").strip())
    except (ValueError, ZeroDivisionError):
        value = Fraction(-1)
    if not 0 <= value <= 1000:
        raise UsageError(f"--overs {text}: write a percentage such as 6 or 2.5")
    return value


def _date(text: str) -> date:
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise UsageError(f"--date {text}: write it as YYYY-MM-DD") from None
