"""`prepcheck draft-order`: an order file to correct, from what the art says."""

from __future__ import annotations

from pathlib import Path

import click

from prepcheck.cli.terminal import (
    ends_with_exit_code,
    processors,
    put,
    shown,
    with_jobs,
)
from prepcheck.errors import UsageError


@click.command("draft-order")
@click.argument("art", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="ART...")
@click.option(
    "--out", metavar="FILE", type=click.Path(path_type=Path),
    help="Write the order here; it must not be there yet. Without it, it goes to stdout, its files "
    "named from the current folder.",
)  # fmt: skip
@with_jobs
@ends_with_exit_code
def draft_order(art: tuple[Path, ...], out: Path | None, jobs: int | None) -> None:
    """Write a draft of the order that art belongs to.

    ART is files, ZIP archives or folders with them. Pieces are known by their size; sides, titles,
    catalogue number, speed and barcode are read from the type, inks from all that is painted.
    Every guess says what it was made from: correct it before you check the art against it.

    \b
    Examples
      prepcheck draft-order from-client/ --out from-client/order.toml
      prepcheck draft-order side-a.pdf side-b.pdf jacket.pdf
    """
    from prepcheck.intake.aside import aside
    from prepcheck.intake.order_draft import draft_order as drafted
    from prepcheck.output import write_whole

    if out is not None and (out.exists() or out.is_symlink()):
        raise UsageError(f"{out}: this is there already; name another file for the draft")
    with aside() as unpacked:
        text = drafted(art, Path() if out is None else out.parent, unpacked, jobs or processors())
    if out is None:
        put(text)
        return
    write_whole(out, text.encode("utf-8", "replace"))
    put(f"{shown(out)}\n")
