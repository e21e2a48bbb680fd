"""Desks to ask: on a book with one order, its examinations scripted."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from shutil import copytree

import pytest
from argon2 import PasswordHasher
from starlette.testclient import TestClient

from prepcheck.book.access import Access
from prepcheck.book.book import Book, open_book
from prepcheck.book.records import Role
from prepcheck.book.rounds import Ways, carry_on, receive
from prepcheck.desk.app import make_app
from prepcheck.desk.passwords import hashed
from prepcheck.desk.settings import DeskSettings
from tests.book.conftest import Clock
from tests.book.orders import Scripted, entered, files, unseen

PASSWORD = "seven swans a-swimming"
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
"""Hashing that is quick, so that tests are; its parameters stand in the hash itself."""


@dataclass
class Room:
    """A desk under test: its book, and browsers of people and of nobody."""

    book: Book
    settings: DeskSettings
    woken: list[str] = field(default_factory=list)
    asked: list[object] = field(default_factory=list)
    clients: list[TestClient] = field(default_factory=list)

    def browser(self, base: str = "http://desk.test", **more: str) -> TestClient:
        app = make_app(
            self.book, self.settings,
            wake=lambda: self.woken.append("woken"), ask=self.asked.append,
        )  # fmt: skip
        client = TestClient(app, base, follow_redirects=False, headers=more or None)
        self.clients.append(client)
        return client

    def person(self, name: str = "Ada Fenn", role: Role = Role.APPROVER) -> TestClient:
        """Return the browser of somebody who is logged in."""
        known = hashed(PASSWORD, hasher=CHEAP)
        Access(self.book).set_password(name, role, known, "test")
        client = self.browser()
        token = Access(self.book).log_in(name, timedelta(hours=1))
        client.cookies.set("prepcheck-desk", token)
        return client

    def round(self, texts: dict[str, str], folder: Path, number: str = "TR-1") -> None:
        """Receive a round and have it examined, by what its files say."""
        receive(self.book, files(folder, texts), number, "Ada Fenn")
        carry_on(self.book, "Ada Fenn", Ways(look=unseen, examiner=Scripted(), draw=False))


def secret_of(page: str) -> str:
    """Return the secret that stands in a page's forms."""
    found = re.search(r'name="secret" value="([0-9a-f]{64})"', page)
    assert found is not None
    return found[1]


def hidden(page: str, name: str) -> str:
    """Return what a hidden field of a page holds."""
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found is not None
    return found[1]


@pytest.fixture
def settings() -> DeskSettings:
    return DeskSettings()


@pytest.fixture
def room(tmp_path: Path, settings: DeskSettings, made_book: Path) -> Iterator[Room]:
    book = open_book(copytree(made_book, tmp_path / "book"), clock=Clock())
    entered(book)
    room = Room(book, settings)
    yield room
    for client in room.clients:
        client.close()
    book.close()


Rounds = Callable[[dict[str, str]], None]


@pytest.fixture
def rounds(room: Room, tmp_path: Path) -> Rounds:
    """Take in rounds of the order TR-1, one after the other."""
    count = iter(range(100))

    def take(texts: dict[str, str]) -> None:
        room.round(texts, tmp_path / f"came-{next(count)}")

    return take
