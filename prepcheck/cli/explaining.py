"""`prepcheck specs` and `prepcheck explain`: what is asked, and why."""

from __future__ import annotations

import click

from prepcheck.cli.terminal import ends_with_exit_code, put


@click.command()
@click.argument("name", required=False, metavar="[NAME|PATH]")
@ends_with_exit_code
def specs(name: str | None) -> None:
    """List the specs, or print one.

    It comes with everything it asks, and the source of each limit. A spec is printed as TOML. Save
    it, change it and name the file wherever a spec is wanted; or write a short file of your own
    that `extends` a spec and changes what differs. Whoever changes a limit must cite a source for
    it ('common practice, no source' will do).

    Its `print_condition` is coated-board, uncoated-label, or a TOML file of your own that `extends`
    one of them, with a `title` and a `profile`, an ICC profile beside that file. Paint in
    RGB or Lab is a fault whatever the condition; with an output profile, there or in the art, it
    is counted as the inks that profile turns it into.

    \b
    Examples
      prepcheck specs
      prepcheck specs label-12in
      prepcheck specs our-label.toml
    """
    if name is None:
        from prepcheck.run.explain import specs_text

        put(specs_text())
        return
    from prepcheck.spec.load import load_spec, resolved_toml

    put(resolved_toml(load_spec(name)))


@click.command()
@click.argument("identifier", required=False, metavar="[IDENTIFIER]")
@ends_with_exit_code
def explain(identifier: str | None) -> None:
    """List the checks, or explain one.

    What it makes sure of, and why, its source and its limits.

    \b
    Examples
      prepcheck explain
      prepcheck explain hole.clearance
    """
    from prepcheck.run.explain import check_text, checks_text

    put(checks_text() if identifier is None else check_text(identifier))


@click.command("report-schema")
@click.option("--summary", is_flag=True, help="Print the schema of summary.json instead.")
@ends_with_exit_code
def report_schema(summary: bool) -> None:
    """Print the JSON Schema of the report.

    \b
    Example
      prepcheck report-schema > prepcheck-report-1.schema.json
    """
    from prepcheck.report.json import schema_text
    from prepcheck.report.summary import summary_schema_text

    put(summary_schema_text() if summary else schema_text())
