"""`prepcheck desk`: the book in the browser."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from prepcheck.cli.terminal import ends_with_exit_code, machines, put, tell, with_cluster
from prepcheck.cli.with_book import acting, book_options, opened
from prepcheck.errors import UsageError

if TYPE_CHECKING:
    from prepcheck.desk.settings import DeskSettings


@click.group(invoke_without_command=True)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to serve at.")
@click.option(
    "--port", default=8765, show_default=True, type=click.IntRange(0, 65535),
    help="Port to serve at; 0 takes any that is free.",
)  # fmt: skip
@click.option(
    "--root-path", "prefix", metavar="PATH", default="",
    help="Path that a proxy serves the desk under, such as /plant.",
)  # fmt: skip
@click.option(
    "--released-to", metavar="DIR", type=click.Path(path_type=Path),
    default=Path("prepcheck-released"), show_default=True,
    help="Folder in which each release gets one of its own.",
)  # fmt: skip
@click.option(
    "--jobs", metavar="N", type=click.IntRange(min=1), default=1, show_default=True,
    help="Parts examined at a time.",
)  # fmt: skip
@click.option(
    "--open-check",
    is_flag=True,
    help="Let anybody check a file of theirs at /check, without logging in; nothing of it is kept "
    "after an hour.",
)
@click.option(
    "--pictures-mb", metavar="MB", type=click.IntRange(min=100), default=4000, show_default=True,
    help="Room for pictures of art in the book's folder.",
)  # fmt: skip
@with_cluster
@book_options
@click.pass_context
def desk(
    context: click.Context,
    host: str,
    port: int,
    prefix: str,
    released_to: Path,
    jobs: int,
    open_check: bool,
    pictures_mb: int,
    cluster: str | None,
    shared: bool,
    where: str,
    kept_in: Path | None,
) -> None:
    """Serve the book in the browser, to those who work with it.

    Needs `pip install 'prepcheck[desk]'`. Only this machine sees it unless --host says otherwise;
    let a proxy that speaks HTTPS stand before it where others are to. With --cluster, orders are
    examined by other machines, and on this one while those cannot be reached.

    \b
    Examples
      prepcheck desk
      prepcheck desk add-person "Bo Marsh" --role approver
    """
    if context.invoked_subcommand is None:
        from prepcheck.desk.settings import DeskSettings

        settings = DeskSettings(
            prefix=prefix.rstrip("/"), released_to=released_to, open_check=open_check,
            pictures_bytes=pictures_mb * 1_000_000,
        )  # fmt: skip
        _serve(settings, host, port, jobs, cluster, shared, where, kept_in)


@ends_with_exit_code
def _serve(
    settings: DeskSettings,
    host: str,
    port: int,
    jobs: int,
    cluster: str | None,
    shared: bool,
    where: str,
    kept_in: Path | None,
) -> None:
    prefix = settings.prefix
    if prefix and not re.fullmatch(r"(/[A-Za-z0-9_-]+)+", prefix):
        raise UsageError(f"--root-path {prefix}: write it as /plant")
    with machines(cluster, shared, jobs):
        pass  # a wrong address is told here, and not by a process that nobody looks at
    with opened(where, kept_in, make=True) as book:
        from prepcheck.book.access import Access
        from prepcheck.desk.serve import opening_of, serve

        if not Access(book).has_admin():
            if not sys.stdin.isatty():
                raise UsageError(
                    "nobody can log in yet: enter the first admin with `prepcheck desk add-person "
                    "NAME --role admin`"
                )
            tell("Nobody can log in yet. The first person is an admin, who may add the others.")
            name = click.prompt("Name", err=True)
            _enter(book, name, "admin", _asked(), acting(None))
        serve(
            book, settings, opening_of(where, kept_in, settings, jobs, cluster, shared),
            host, port,
            lambda address: put(f"The desk is at {address}\n"),
        )  # fmt: skip


@desk.command("add-person")
@click.argument("name")
@click.option(
    "--role", required=True, type=click.Choice(["intake", "approver", "admin"]),
    help="What they may do: intake receives and asks; an approver lets stops pass and releases "
    "too; an admin adds people as well.",
)  # fmt: skip
@click.option("--by", metavar="NAME", help="Who enters them.  [default: whoever is logged in]")
@book_options
@ends_with_exit_code
def add_person(name: str, role: str, by: str | None, where: str, kept_in: Path | None) -> None:
    """Let a person log in, or give them another role or password.

    The password is asked for; where there is no terminal it is read from standard input.
    """
    with opened(where, kept_in, make=True) as book:
        _enter(book, name, role, _asked(), acting(by))


@desk.command("add-program")
@click.argument("name")
@click.option("--revoke", is_flag=True, help="Let it ask no more.")
@click.option("--by", metavar="NAME", help="Who says so.  [default: whoever is logged in]")
@book_options
@ends_with_exit_code
def add_program(name: str, revoke: bool, by: str | None, where: str, kept_in: Path | None) -> None:
    """Let another program ask the desk, and print its token.

    It asks under /api/v1. The token is shown this once, and kept as its digest alone.
    """
    with opened(where, kept_in, make=True) as book:
        from prepcheck.book.access import Access

        if revoke:
            Access(book).revoke_program(name, acting(by))
        else:
            put(f"{Access(book).add_program(name, acting(by))}\n")


@desk.command("add-listener")
@click.argument("address")
@click.option("--revoke", is_flag=True, help="Tell it nothing more.")
@click.option("--by", metavar="NAME", help="Who says so.  [default: whoever is logged in]")
@book_options
@ends_with_exit_code
def add_listener(
    address: str, revoke: bool, by: str | None, where: str, kept_in: Path | None
) -> None:
    """Tell an address of each verdict, and print the secret that signs what it is told.

    It is sent JSON by POST. The header X-Prepcheck-Signature holds 'sha256=' and the HMAC-SHA-256,
    by the secret, of X-Prepcheck-Time, a full stop and the body. What is not answered with 2xx is
    sent again, ten times in all, later each time.
    """
    with opened(where, kept_in, make=True) as book:
        from prepcheck.book.listeners import Listeners

        if revoke:
            Listeners(book).revoke(address, acting(by))
        else:
            put(f"{Listeners(book).add(address, acting(by))}\n")


def _asked() -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    password: str = click.prompt("Password", hide_input=True, confirmation_prompt=True, err=True)
    return password


def _enter(book: object, name: str, role: str, password: str, who: str) -> None:
    from prepcheck.book.access import Access
    from prepcheck.book.book import Book
    from prepcheck.book.records import Role
    from prepcheck.desk.passwords import hashed

    assert isinstance(book, Book)
    Access(book).set_password(name, Role(role), hashed(password), who)
