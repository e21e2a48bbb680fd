"""`prepcheck template`: specs as drawings to draw on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.terminal import ends_with_exit_code, put, shown
from prepcheck.errors import UsageError

if TYPE_CHECKING:
    from prepcheck.template.write import Format


@click.command()
@click.argument("names", nargs=-1, metavar="[SPEC]...")
@click.option(
    "--out", metavar="PATH|DIR", type=click.Path(path_type=Path), default=Path("prepcheck-out"),
    show_default=True, help="Folder for the templates, or the file where there is one.",
)  # fmt: skip
@click.option(
    "--format", "kind", type=click.Choice(["pdf", "svg"]), default=None,
    help="Kind of drawing; SVG is a file a page.  [default: pdf, or as --out ends]",
)  # fmt: skip
@click.option("--all", "every", is_flag=True, help="Draw every spec that prepcheck brings.")
@click.option(
    "--spine-mm", metavar="N", type=click.FloatRange(min=0, min_open=True),
    help="Draw the spine so wide.",
)  # fmt: skip
@click.option(
    "--discs", metavar="N", type=click.IntRange(min=1), help="Draw the spine for so many discs."
)
@ends_with_exit_code
def template(
    names: tuple[str, ...],
    out: Path,
    kind: Format | None,
    every: bool,
    spine_mm: float | None,
    discs: int | None,
) -> None:
    """Draw the template of a spec at true size, to draw art on.

    SPEC is a name from `prepcheck specs` or a TOML file. Guides lie on layers of their own,
    marked as processing steps (ISO 19593-1), locked, shown on screen and not printing; an empty
    layer for the art lies below them. Beside the piece stands what its spec asks, and why.

    A spine that no source of the spec supports is refused. With another spine than the spec's
    own, the spec it makes is written beside the template, to check art by.

    \b
    Examples
      prepcheck template label-12in
      prepcheck template jacket-12in --discs 2 --out templates
      prepcheck template our-label.toml --out our-label.svg
      prepcheck template --all --out templates
    """
    from prepcheck.spec.load import spec_names
    from prepcheck.template.write import write_templates

    if every and names:
        raise UsageError("--all: draws every spec; name no SPEC beside it")
    chosen = spec_names() if every else names
    if not chosen:
        raise UsageError("nothing to draw: name a SPEC (see `prepcheck specs`), or say --all")
    if kind is None:
        kind = "svg" if out.suffix.lower() == ".svg" else "pdf"
    files = write_templates(chosen, out, kind, spine_mm=spine_mm, discs=discs)
    put("".join(f"{shown(file)}\n" for file in files))
