"""`prepcheck plates`: the ink plates of one art file."""

from __future__ import annotations

from pathlib import Path

import click

from prepcheck.cli.terminal import (
    EXIT_CODES,
    ends_with_exit_code,
    put,
    settings_of,
    shown,
    with_budget,
)


@click.command(epilog=EXIT_CODES)
@click.argument("art", type=click.Path(path_type=Path), metavar="ART")
@click.option(
    "--spec", metavar="NAME|PATH",
    help="The piece the art is for, by a name from `prepcheck specs` or a TOML file. Without it "
    "the piece is recognised by its size, or else taken as the page states it.",
)  # fmt: skip
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), default=Path("prepcheck-out"),
    show_default=True, help="Folder for the plates, the ink map and the table.",
)  # fmt: skip
@click.option(
    "--ppi", metavar="N", type=click.FloatRange(min=10),
    help="Pixels per inch of the plates.  [default: 300, on the largest sleeves less]",
)  # fmt: skip
@with_budget
@ends_with_exit_code
def plates(
    art: Path,
    spec: str | None,
    out: Path,
    ppi: float | None,
    part_seconds: float,
    part_mb: int,
) -> None:
    """Write the ink plates of an art file, and what each carries.

    Each plate is a grey TIFF named after its ink, over trim and bleed, in which a pixel is the
    amount of ink: 255 solid, 0 bare paper (WhiteIsZero, so a viewer shows ink as dark). The ink
    map is a PNG: total ink in steps from light to dark, above the limit hatched and ringed. What
    is in RGB or Lab, of which no ink is known, is a file of its own.

    The table goes to stdout and, as JSON (prepcheck-plates/1), into the folder: of each plate the
    mean tone of the finished face, its ink there as an area of solid (solid_mm2), the same with
    bleed and hole, by which ink is quoted (sheet_mm2), and the area with any of it (printed_mm2).

    \b
    Examples
      prepcheck plates label-a.pdf
      prepcheck plates jacket.pdf --spec jacket-12in --out plates --ppi 150
    """
    from prepcheck.report.plate_table import plates_text
    from prepcheck.run.platemaking import write_plates

    report, files = write_plates(
        art, out=out, spec=spec, ppi=ppi, settings=settings_of(part_seconds, part_mb)
    )
    listed = "".join(f"  {shown(file)}\n" for file in files)
    put(f"{plates_text(report)}\nWritten:\n{listed}")
