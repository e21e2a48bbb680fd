"""Templates as files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Literal

from prepcheck.errors import UsageError
from prepcheck.output import refuse_inputs, write_whole
from prepcheck.spec.load import load_spec, resolved_toml
from prepcheck.spec.model import Spec
from prepcheck.template.draw import draw_template
from prepcheck.template.model import Template
from prepcheck.template.spine import with_spine
from prepcheck.template.wording import number

Format = Literal["pdf", "svg"]


def write_templates(
    specs: Sequence[str],
    out: Path,
    kind: Format = "pdf",
    *,
    spine_mm: float | None = None,
    discs: int | None = None,
) -> tuple[Path, ...]:
    """Write the templates of specs (names or TOML files) and return the files.

    `out` is a folder, or a file where one file comes of it. A spec whose spine was changed is
    written beside its template, to check art by. Everything is drawn before anything is written.

    Raises SpecError and UsageError for what cannot be drawn, OutputError.
    """
    made: list[tuple[str, bytes]] = []
    for name in specs:
        spec = load_spec(name)
        other = _renamed(spec, with_spine(spec, spine_mm, discs))
        made += _files(draw_template(other), kind)
        if other is not spec:
            made.append((f"{other.name}.toml", resolved_toml(other).encode()))
    drawn = [file for file in made if not file[0].endswith(".toml")]
    paths = tuple(out / name for name, _ in made)
    if out.suffix.lower() in (".pdf", ".svg"):
        if out.suffix.lower() != f".{kind}":
            raise UsageError(f"{out}: ends in {out.suffix}, but the template is {kind.upper()}; "
                             f"say --format {out.suffix[1:].lower()}")  # fmt: skip
        if len(drawn) > 1:
            raise UsageError(f"{out}: {len(drawn)} files come of this; name a folder with --out")
        paths = tuple(
            out if not name.endswith(".toml") else out.with_name(name) for name, _ in made
        )
    doubled = {path for path in paths if paths.count(path) > 1}
    if doubled:
        raise UsageError(
            *(f"{path}: two of the specs are named alike; draw them one by one"
              for path in sorted(doubled))
        )  # fmt: skip
    # A template that was drawn on is no longer ours; the same one may be written again.
    changed = [
        path for path, (_, data) in zip(paths, made, strict=True) if not _holds(path, data)
    ]  # fmt: skip
    refuse_inputs(changed, [Path(name) for name in specs if name.endswith(".toml")])
    for path, (_, data) in zip(paths, made, strict=True):
        write_whole(path, data)
    return paths


def _holds(path: Path, data: bytes) -> bool:
    try:
        return path.is_file() and path.read_bytes() == data
    except OSError:
        return False


def _renamed(spec: Spec, changed: Spec) -> Spec:
    """Name a spec with another spine by its width."""
    if changed is spec:
        return spec
    spine = next(p for p in changed.outline_of(0).panels if p.kind == "spine")
    width = number(min(spine.box.width, spine.box.height))
    return changed.replaced(
        name=f"{spec.name}-spine-{width.replace('.', '-')}mm",
        title=f"{spec.title}, spine {width} mm",
    )


def _files(template: Template, kind: Format) -> Iterator[tuple[str, bytes]]:
    # Either way of writing takes long to import.
    if kind == "pdf":
        from prepcheck.template.pdf import template_pdf

        yield f"{template.spec}-template.pdf", template_pdf(template)
        return
    from prepcheck.template.svg import svg_names, template_svg

    for index, name in enumerate(svg_names(template)):
        yield f"{name}.svg", template_svg(template, index)
