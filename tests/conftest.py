"""Fails the whole suite where a check was never seen to find one of its faults, or never to pass.

What checks say in this process is written down as they say it, and gathered from the workers of a
parallel run. A test that only names an identifier is no test of it. A run of some tests tells
nothing.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from functools import wraps
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

TESTS = Path(__file__).parent
MADE_OUTSIDE = {
    ("file.unreadable", "unread"),
    ("file.unreadable", "not-examined"),
    ("file.unreadable", "piece-not-told"),
    ("order.missing-part", "not-received"),
    ("order.missing-part", "which-file"),
}
"""Said where there is nothing that a check could look at; tested in `tests/run` and `intake`."""
LONGEST = (
    "test_sample_art.py", "truth/test_truth.py", "desk/test_browser.py", "book/test_killed.py",
    "measure/test_detail.py", "run/test_compare.py", "run/test_surroundings.py",
    "template/test_circle.py", "intake/test_check_deliveries.py", "test_cli.py",
    "book/test_commands.py", "desk/test_serving.py", "run/test_worker.py", "run/test_cluster.py",
    "book/test_releasing.py", "checks/test_barcode.py",
)  # fmt: skip
"""Begun first, so that of two processes none has a long file left when the other has done."""
CLEAR = ""
"""Stands for the code where a check found nothing wrong."""

_said: set[tuple[str, str]] = set()
_wrong: list[str] = []


def pytest_configure(config: pytest.Config) -> None:
    # pytest-xdist would begin with the files that have the most tests, whatever those take.
    config.option.loadscopereorder = False
    # Programs that tests start keep what was compiled, as an installed prepcheck does.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False
    # How long an example takes says nothing on a machine that is busy.
    settings.register_profile("busy", deadline=None, suppress_health_check=[HealthCheck.too_slow])
    settings.load_profile("busy")
    from prepcheck.judging import registry

    register = registry._register

    def recorded(module: Any) -> Iterator[Any]:
        from dataclasses import replace

        for check in register(module):
            loose = getattr(check, "examine_loose", None)
            own = {"examine_loose": _heard(loose)} if loose else {}
            yield replace(check, examine=_heard(check.examine), **own)

    registry._register = recorded
    from tests.once import examined_once

    examined_once()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    rank = {TESTS / name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: rank.get(item.path, len(rank)))


@pytest.fixture
def no_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave the pictures out of proofs that a test has written and looks at nothing of."""
    from prepcheck.run.examine import examine

    monkeypatch.setitem(examine.__kwdefaults__, "pictures", False)


@pytest.fixture(scope="session")
def made_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book in which nothing stands but that it was made.

    To open a copy takes a tenth of the time that the steps of its schema take, which
    `book/test_migrations.py` goes.
    """
    from prepcheck.book.book import open_book
    from tests.book.conftest import Clock

    folder = tmp_path_factory.mktemp("made") / "book"
    open_book(folder, clock=Clock()).close()
    return folder


def _heard(examine: Callable[[Any], Iterator[Any]]) -> Callable[[Any], Iterator[Any]]:
    """Return a check that writes down what it says."""
    from prepcheck.findings import Finding
    from prepcheck.said import Clear

    @wraps(examine)
    def heard(exam: Any) -> Iterator[Any]:
        for item in examine(exam):
            if isinstance(item, Finding):
                _said.add((item.check, item.code))
            elif isinstance(item, Clear):
                _said.add((item.check, CLEAR))
            yield item

    return heard


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take over what the checks said in a worker."""
    _said.update(map(tuple, getattr(node, "workeroutput", {}).get("said", ())))


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    config = session.config
    if hasattr(config, "workeroutput"):
        config.workeroutput["said"] = sorted(_said)
    elif exitstatus == pytest.ExitCode.OK and all_ran(config):
        _wrong[:] = never_seen(_said)
        if _wrong:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: Any) -> None:
    for line in _wrong:
        terminalreporter.write_line(f"NEVER SEEN {line}", red=True)


def all_ran(config: pytest.Config) -> bool:
    """Say whether the whole suite was asked for."""
    option = config.option
    chosen = option.keyword or option.markexpr or option.deselect or option.collectonly
    if chosen or getattr(option, "lf", False) or getattr(option, "ignore", None):
        return False
    asked = [(config.invocation_params.dir / arg).resolve() for arg in config.args]
    return any(path == TESTS or path in TESTS.parents for path in asked)


def never_seen(said: set[tuple[str, str]]) -> list[str]:
    """Return a line for each code that was never found and each check that was never clear."""
    from prepcheck.judging.registry import declarations, order_declarations

    lines = []
    for name, declared in sorted({**declarations(), **order_declarations()}.items()):
        due = {(name, code) for code in declared.codes} - MADE_OUTSIDE
        lines += [f"{name}: no test ever had it find {code!r}" for _, code in sorted(due - said)]
        if (name, CLEAR) not in said:
            lines.append(f"{name}: no test ever had it pass")
        known = {*due, *MADE_OUTSIDE, (name, CLEAR)}
        lines += [
            f"{name}: {code!r} was found and is not declared"
            for check, code in sorted(said - known)
            if check == name
        ]
    return lines
