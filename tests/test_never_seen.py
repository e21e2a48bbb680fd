"""The whole suite fails where a check was never seen to find a fault of its own, or to pass."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from prepcheck.judging.registry import declarations, order_declarations
from tests import conftest

ALL = {
    (name, code)
    for name, declared in {**declarations(), **order_declarations()}.items()
    for code in (*declared.codes, conftest.CLEAR)
}


def session(*args: str, **options: object) -> Any:
    given = {"keyword": "", "markexpr": "", "deselect": None, "collectonly": False, **options}
    config = SimpleNamespace(
        option=SimpleNamespace(**given),
        invocation_params=SimpleNamespace(dir=conftest.TESTS.parent),
        args=args,
    )
    return SimpleNamespace(config=config, exitstatus=pytest.ExitCode.OK)


@pytest.fixture
def finish(monkeypatch: pytest.MonkeyPatch) -> Any:
    """End a session in which this was said; returns its exit code."""

    def ended(said: set[tuple[str, str]], one: Any, status: int = 0) -> int:
        monkeypatch.setattr(conftest, "_said", said)
        monkeypatch.setattr(conftest, "_wrong", [])
        one.exitstatus = status
        conftest.pytest_sessionfinish(one, status)
        return int(one.exitstatus)

    return ended


def test_a_suite_in_which_all_was_seen_passes(finish: Any) -> None:
    assert finish(ALL, session("tests")) == 0
    assert finish(ALL, session(str(conftest.TESTS.parent))) == 0


@pytest.mark.parametrize(
    "lacking", [("bleed.short", "short"), ("text.small", conftest.CLEAR)], ids=str
)
def test_a_code_never_found_and_a_check_never_clear_fail_it(
    lacking: tuple[str, str], finish: Any
) -> None:
    assert lacking in ALL
    assert finish(ALL - {lacking}, session("tests")) == 1
    assert len(conftest.never_seen(ALL - {lacking})) == 1


def test_a_code_that_is_not_declared_fails_it(finish: Any) -> None:
    assert finish({*ALL, ("bleed.short", "made-up")}, session("tests")) == 1


def test_what_failed_anyway_keeps_its_code(finish: Any) -> None:
    assert finish(set(), session("tests"), 2) == 2


@pytest.mark.parametrize(
    "some",
    [
        session("tests/checks"),
        session("tests", keyword="bleed"),
        session("tests", deselect=["tests/test_cli.py"]),
        session("tests", lf=True),
        session("tests", ignore=[Path("tests/checks")]),
    ],
)
def test_a_run_of_some_tests_says_nothing(some: Any, finish: Any) -> None:
    assert finish(set(), some) == 0
