"""The command itself, in a process of its own: served, killed, started again."""

from __future__ import annotations

import http.client
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from prepcheck.book.access import Access
from prepcheck.book.book import open_book
from prepcheck.book.orders import NewOrder
from prepcheck.book.records import Role
from prepcheck.desk.passwords import hashed
from prepcheck.order import OrderPart
from tests.book.orders import new_order
from tests.desk.conftest import CHEAP, PASSWORD, hidden, secret_of
from tests.factories import one_page
from tests.holding import Holding

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="killed as Unix kills")


FORM = "application/x-www-form-urlencoded"


class Served:
    """A desk that was started by its command."""

    def __init__(self, book: Path, environment: dict[str, str] | None = None) -> None:
        command = [sys.executable, "-m", "prepcheck", "desk", "--port", "0", "--book", str(book)]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=book.parent,
            env=environment,
        )  # fmt: skip
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        found = re.fullmatch(r"The desk is at http://127\.0\.0\.1:(\d+)/\n", line)
        assert found is not None, line + (self.process.stderr.read() if self.process.stderr else "")
        self.port = int(found[1])
        self.cookies: dict[str, str] = {}

    def ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        kind: str = "application/x-www-form-urlencoded",
    ) -> tuple[int, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        headers = {"Cookie": cookies} | ({"Content-Type": kind} if method == "POST" else {})
        connection.request(method, path, body or None, headers)
        answer = connection.getresponse()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                self.cookies[key] = rest.partition(";")[0]
        text = answer.read().decode("utf-8", "replace")
        connection.close()
        return answer.status, text

    def log_in(self) -> str:
        """Log in, and return the secret of the session's forms."""
        entry = hidden(self.ask("GET", "/login")[1], "entry")
        form = {"name": "Ada Fenn", "password": PASSWORD, "entry": entry, "then": "/"}
        assert self.ask("POST", "/login", urlencode(form).encode())[0] == 303
        return secret_of(self.ask("GET", "/")[1])

    def end(self, number: int) -> int:
        """Send a signal, and wait for the end."""
        self.process.send_signal(number)
        code = self.process.wait(60)
        for pipe in (self.process.stdout, self.process.stderr):
            if pipe is not None:
                pipe.close()
        return code


def _form(secret: str, data: bytes) -> bytes:
    return (
        b'--X\r\nContent-Disposition: form-data; name="secret"\r\n\r\n' + secret.encode() +
        b'\r\n--X\r\nContent-Disposition: form-data; name="order"\r\n\r\nTR-1'
        b'\r\n--X\r\nContent-Disposition: form-data; name="files"; filename="label-a.pdf"\r\n\r\n' +
        data + b"\r\n--X--\r\n"
    )  # fmt: skip


def _until(found: Callable[[], bool]) -> None:
    for _ in range(1_200):
        if found():
            return
        time.sleep(0.1)
    raise AssertionError("did not come about")


@pytest.fixture
def holding(tmp_path: Path) -> Holding:
    """Holds who examines a delivery's files."""
    (tmp_path / "holding").mkdir()
    return Holding(tmp_path / "holding", f"{tmp_path}/book/files/")


@pytest.fixture
def start(holding: Holding) -> Iterator[Callable[[Path], Served]]:
    """Start desks; none is left running."""
    started: list[Served] = []

    def one(book: Path) -> Served:
        started.append(Served(book, holding.environment))
        return started[-1]

    yield one
    for served in started:
        if served.process.poll() is None:
            served.end(signal.SIGKILL)


def test_killed_while_files_come_and_while_they_are_examined_nothing_is_lost(
    tmp_path: Path, start: Callable[[Path], Served], holding: Holding
) -> None:
    where = tmp_path / "book"
    book = open_book(where)
    label = OrderPart(name="Label A", file="label-a.pdf", side="A")
    book.enter(NewOrder(new_order().head, (label,)), "test")
    Access(book).set_password("Ada Fenn", Role.ADMIN, hashed(PASSWORD, hasher=CHEAP), "test")

    served = start(where)
    secret = served.log_in()
    art = one_page("0 0 0 0.4 k 0 0 106 106 re f", (106, 106))
    body = _form(secret, art + b" " * 400_000)
    half = http.client.HTTPConnection("127.0.0.1", served.port, timeout=60)
    half.putrequest("POST", "/drop")
    half.putheader("Content-Type", "multipart/form-data; boundary=X")
    half.putheader("Content-Length", str(len(body)))
    half.putheader("Cookie", f"prepcheck-desk={served.cookies['prepcheck-desk']}")
    half.endheaders()
    half.send(body[:200_000])
    _until(lambda: any((where / "arriving").glob("*/0")))
    served.end(signal.SIGKILL)
    half.close()
    assert book.story("TR-1").deliveries == ()

    served = start(where)
    secret = served.log_in()
    assert not (where / "arriving").exists()
    with holding.held():
        answer = served.ask("POST", "/drop", _form(secret, art), "multipart/form-data; boundary=X")
        assert answer[0] == 303
        _until(lambda: bool(holding.reached()))
        served.end(signal.SIGKILL)
    (delivery,) = book.story("TR-1").deliveries
    assert delivery.state != "examined"

    served = start(where)
    _until(lambda: book.story("TR-1").examined)
    served.log_in()
    assert "Label A" in served.ask("GET", "/order/TR-1")[1]
    assert served.end(signal.SIGTERM) in (0, -signal.SIGTERM, 128 + signal.SIGTERM)
    assert len(book.story("TR-1").examinations) == 1
    assert book.verify().faults == ()
    book.close()
    left = [one for one in Path("/proc").glob("[0-9]*") if _runs(one, str(where))]
    assert left == []


def _runs(process: Path, what: str) -> bool:
    try:
        return what in (process / "cmdline").read_bytes().decode("utf-8", "replace")
    except OSError:
        return False


def test_without_anybody_to_log_in_it_says_what_to_do(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "prepcheck", "desk", "--book", str(tmp_path / "book")]
    done = subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "add-person NAME --role admin" in done.stderr


def test_a_port_that_is_taken_is_said_in_a_line(tmp_path: Path) -> None:
    import socket

    from click.testing import CliRunner

    from prepcheck.cli import cli

    where = str(tmp_path / "book")
    run = CliRunner().invoke
    added = run(cli, ["desk", "add-person", "Ada", "--role", "admin", "--book", where],
                input=f"{PASSWORD}\n")  # fmt: skip
    assert added.exit_code == 0, added.output
    short = run(cli, ["desk", "add-person", "Bo", "--role", "intake", "--book", where], input="x\n")
    assert short.exit_code == 2
    assert "10 to 200 characters" in short.output
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        done = run(cli, ["desk", "--port", port, "--book", where])
    assert done.exit_code == 2
    assert f"--port {port}: cannot be served on" in done.output
    wrong = run(cli, ["desk", "--root-path", "plant?", "--book", where])
    assert wrong.exit_code == 2
