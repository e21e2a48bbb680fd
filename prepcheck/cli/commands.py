"""The commands, put together."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import click
from click.exceptions import Exit

from prepcheck import __version__
from prepcheck.cli.board import orders, show
from prepcheck.cli.book import book
from prepcheck.cli.checking import check
from prepcheck.cli.comparing import compare
from prepcheck.cli.deciding import answer, decide, letter, release
from prepcheck.cli.desk import desk
from prepcheck.cli.draft_order import draft_order
from prepcheck.cli.draft_spec import draft_spec
from prepcheck.cli.explaining import explain, report_schema, specs
from prepcheck.cli.plate_files import plates
from prepcheck.cli.receiving import receive
from prepcheck.cli.sheet import sheet
from prepcheck.cli.template import template
from prepcheck.cli.terminal import EXIT_CODES, interrupted
from prepcheck.cli.watching import watch


@contextmanager
def _interrupts_told() -> Iterator[None]:
    """Have an interrupt while words are read end like any other."""
    try:
        yield
    except KeyboardInterrupt:
        raise Exit(interrupted()) from None


class _Commands(click.Group):
    def make_context(self, *words: Any, **more: Any) -> click.Context:
        with _interrupts_told():
            return super().make_context(*words, **more)

    def invoke(self, ctx: click.Context) -> Any:
        with _interrupts_told():
            return super().invoke(ctx)


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog=EXIT_CODES,
)
@click.version_option(__version__, message="prepcheck %(version)s")
def cli() -> None:
    """Check artwork for record labels and sleeves before plates are made.

    prepcheck measures an order's art in millimetres against a spec of the printed piece, says
    what would print, cut, fold or drill wrong and what to do about it, and writes a proof (PDF)
    to send to the client and a report (JSON).

    \b
    Start here
      prepcheck specs                     what pieces there are
      prepcheck check label-a.pdf         check one file
      prepcheck check order.toml          check a whole order
      prepcheck compare old.pdf new.pdf   what changed, and what is cured
      prepcheck explain bleed.short       what a finding means
      prepcheck plates label-a.pdf        see what each ink plate carries
      prepcheck receive round-2.zip       take a delivery into the book of orders
      prepcheck desk                      the book in the browser
      prepcheck template label-12in       a drawing to draw art on
      prepcheck sheet order.toml --sheet SRA3    its labels on a press sheet
    """


for _command in (
    check,
    specs,
    explain,
    report_schema,
    plates,
    compare,
    template,
    draft_spec,
    draft_order,
    sheet,
):
    cli.add_command(_command)

for _command in (receive, orders, show, decide, answer, letter, release, watch, book, desk):
    cli.add_command(_command)
