"""The second thread of a part, and its file while it is examined."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from prepcheck.run import part
from prepcheck.run.answer import Task
from prepcheck.run.part import _pool, examine_part
from prepcheck.spec.load import load_spec
from tests.run.art import QUICK, label_pdf


def test_what_still_waits_when_a_part_fails_is_not_begun() -> None:
    begun, leave, more = threading.Event(), threading.Event(), threading.Event()

    def first() -> None:
        begun.set()
        leave.wait(20)

    def fail() -> None:
        with _pool() as pool:
            pool.submit(first)
            pool.submit(more.set)
            assert begun.wait(20)
            threading.Timer(0.3, leave.set).start()
            raise MemoryError

    with pytest.raises(MemoryError):
        fail()
    assert not more.is_set()


def test_a_file_that_changes_meanwhile_is_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = label_pdf(tmp_path / "label.pdf")
    whole, own = path.read_bytes(), part._examined

    def changing(*given: object) -> object:
        found = own(*given)  # type: ignore[arg-type]
        path.write_bytes(whole + b"\n")
        return found

    monkeypatch.setattr(part, "_examined", changing)
    specs = (load_spec("label-12in"),)
    answer = examine_part(Task("part", path.name, path, specs, "", settings=QUICK))
    assert answer.proof is not None
    (finding,) = answer.proof.result.findings
    assert finding.message == (
        "The file cannot be examined: the file changed while it was being examined."
    )
    assert finding.fix == "Please send it again once it is whole."
