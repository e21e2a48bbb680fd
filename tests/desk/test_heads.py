"""Heads of requests that dribble in: the desk lets go of them, and of whoever says nothing."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import suppress

import pytest
import uvicorn
from starlette.responses import PlainTextResponse

from prepcheck.desk.heads import heads_within

HEAD = b"GET / HTTP/1.1\r\nHost: desk.test\r\n\r\n"
WITHIN = 0.4


@pytest.fixture(scope="module")
def port() -> Iterator[int]:
    server = uvicorn.Server(
        uvicorn.Config(
            PlainTextResponse("here"), port=0, log_level="critical", ws="none",
            http=heads_within(WITHIN), timeout_keep_alive=60,
        )
    )  # fmt: skip
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield server.servers[0].sockets[0].getsockname()[1]
    server.should_exit = True
    thread.join(20)


def _dribbled(to: socket.socket, head: bytes) -> bytes:
    """Send a head byte by byte until it is whole or the other side is gone; return what it said."""
    to.settimeout(60)
    over = threading.Event()

    def send() -> None:
        with suppress(OSError):
            for byte in head:
                if over.wait(WITHIN / 4):
                    return
                to.sendall(bytes([byte]))

    sender = threading.Thread(target=send)
    sender.start()
    said = b""
    with suppress(ConnectionResetError):
        while piece := to.recv(4096):
            said += piece
    over.set()
    sender.join()
    return said


def test_a_head_that_dribbles_in_is_broken_off(port: int) -> None:
    """RFC 9110, 15.5.9. Its bytes would take ten times as long as a head may."""
    with socket.create_connection(("127.0.0.1", port)) as slow:
        said = _dribbled(slow, HEAD)
    assert said.startswith(b"HTTP/1.1 408 ")
    assert b"connection: close" in said


def test_the_head_after_an_answer_may_not_dribble_either(port: int) -> None:
    with socket.create_connection(("127.0.0.1", port)) as kept:
        kept.settimeout(60)
        kept.sendall(HEAD)
        said = b""
        while not said.endswith(b"here"):
            said += kept.recv(4096)
        time.sleep(2 * WITHIN)  # between two requests there is time
        kept.sendall(HEAD)
        assert kept.recv(4096).startswith(b"HTTP/1.1 200 ")
        left = _dribbled(kept, HEAD)
    assert b"HTTP/1.1 408 " in left


def test_whoever_says_nothing_is_let_go(port: int) -> None:
    with socket.create_connection(("127.0.0.1", port)) as silent:
        silent.settimeout(60)
        assert silent.recv(4096) == b""
