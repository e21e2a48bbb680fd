"""Starts a PostgreSQL server of our own on a free port, in a temporary folder."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def programs() -> Path | None:
    """Return the folder with `initdb` and `pg_ctl`: on the path, or where Debian puts them."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return versions[-1].parent if versions else None


@contextmanager
def server() -> Iterator[str]:
    """Give the address of a running server, without a database's name, ending in a slash."""
    folder = programs()
    assert folder is not None
    data = Path(tempfile.mkdtemp(prefix="prepcheck-pg-"))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    # The server refuses to run as root.
    user: list[str] = []
    if os.geteuid() == 0:
        shutil.chown(data, "postgres", "postgres")
        user = ["runuser", "-u", "postgres", "--"]

    def run(*command: str) -> None:
        done = subprocess.run(
            [*user, str(folder / command[0]), *command[1:]], cwd="/", capture_output=True,
            text=True, check=False, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr + done.stdout

    options = f"-p {port} -c listen_addresses=127.0.0.1 -k {data} -c fsync=off"
    try:
        run("initdb", "-D", str(data / "d"), "-U", "book", "-A", "trust", "-E", "UTF8", "-N")
        run("pg_ctl", "-D", str(data / "d"), "-w", "-l", str(data / "log"), "-o", options, "start")
        try:
            yield f"postgresql+psycopg://book@127.0.0.1:{port}/"
        finally:
            run("pg_ctl", "-D", str(data / "d"), "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(data, ignore_errors=True)
