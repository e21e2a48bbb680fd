"""`prepcheck draft-spec`: a plant's own template as a spec."""

from __future__ import annotations

from pathlib import Path

import click

from prepcheck.cli.terminal import ends_with_exit_code, put, shown, tell


@click.command("draft-spec")
@click.argument("template", type=click.Path(path_type=Path), metavar="TEMPLATE")
@click.option("--name", metavar="N", help="Name of the spec.  [default: as the file]")
@click.option(
    "--extends", metavar="SPEC",
    help="Spec to inherit from what a drawing cannot tell.  [default: the nearest in size]",
)  # fmt: skip
@click.option(
    "--out", metavar="FILE", type=click.Path(path_type=Path),
    help="Write the spec here; without it, it goes to stdout.",
)  # fmt: skip
@ends_with_exit_code
def draft_spec(template: Path, name: str | None, extends: str | None, out: Path | None) -> None:
    """Write the spec that a template (PDF or SVG) stands for.

    Layers marked as processing steps (ISO 19593-1) say what a line is; without them its shape
    and order do: concentric circles, nested rectangles, folds, flaps. Names of layers and spots
    help but never decide against the shape. Each value says how it was read; what contradicts
    itself is listed, and nothing is guessed for it.

    \b
    Examples
      prepcheck draft-spec plant-label.pdf --out our-label.toml
      prepcheck draft-spec jacket.svg --extends jacket-12in --name our-jacket
    """
    from prepcheck.output import refuse_inputs, write_whole
    from prepcheck.template.spec_draft import draft_spec as drafted

    draft = drafted(template, name, extends)
    for words in draft.contradictions:
        tell(f"prepcheck: {template}: {words}; nothing was guessed")
    if out is None:
        put(draft.toml)
        return
    written = draft.toml.encode()
    if not (out.is_file() and out.read_bytes() == written):
        refuse_inputs([out], [template])
        write_whole(out, written)
    put(f"{shown(out)}\n")
