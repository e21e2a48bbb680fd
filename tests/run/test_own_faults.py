"""What the command says where prepcheck itself fails: never that the file is at fault.

Each slip is planted in the worker that examines the part; all else is the command as people run it.
"""

from __future__ import annotations

import functools
import json
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from prepcheck.art import damage
from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from prepcheck.run import examine
from prepcheck.run.answer import Answer, Task
from prepcheck.run.part import examine_part
from tests.run.art import label_pdf

SLIP = functools.partial({}.__getitem__, "Tint")
"""Fails in the code that calls it, as a slip there would."""


def slip_in_the_recorder(task: Task) -> Answer:
    from prepcheck.art.pdf.content import recorder

    recorder.Survey = SLIP
    return examine_part(task)


def slip_in_the_plates(task: Task) -> Answer:
    from prepcheck.press.separate import plates

    plates.partition = SLIP
    return examine_part(task)


def slip_in_a_check(task: Task) -> Answer:
    from prepcheck.checks import line_thin

    line_thin.thin_things = SLIP
    return examine_part(task)


def slip_in_the_reader(task: Task) -> Answer:
    from prepcheck.art.pdf import document

    document.page_geometry = SLIP
    return examine_part(task)


@pytest.mark.parametrize(
    ("work", "check", "file", "without_inks"),
    [
        (slip_in_the_recorder, "plates.limit", "art/pdf/content/recorder.py", True),
        (slip_in_the_plates, "plates.limit", "press/separate/plates.py", True),
        (slip_in_a_check, "line.thin", "checks/line_thin.py", False),
        (slip_in_the_reader, "file.unreadable", "art/pdf/document.py", False),
    ],
)
def test_a_slip_of_ours_comes_out_of_the_command_as_ours(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    work: Callable[[Task], Answer],
    check: str,
    file: str,
    without_inks: bool,
) -> None:
    art = label_pdf(tmp_path / "a.pdf")
    monkeypatch.setattr(examine, "examine", functools.partial(examine.examine, work=work))
    out, letter = tmp_path / "out", tmp_path / "letter.txt"
    args = ["check", art, "--out", out, "--letter", letter]
    ended = CliRunner().invoke(cli, [str(arg) for arg in args])
    assert ended.exit_code == ExitCode.CRASHED
    place = rf"prepcheck itself failed \((?:KeyError|TypeError): .*, {re.escape(file)}:\d+\)"
    told = " ".join(ended.stdout.split())
    assert re.search(rf"CRASHED {re.escape(check)}: .*{place}", told)
    assert "through no fault of the art" in told

    report = json.loads((out / "a-report.json").read_text("utf-8"))
    (part,) = report["parts"]
    assert "clear" not in (report["verdict"], part["verdict"])
    assert re.search(r"Verdict: (?:QUERY|STOP), INCOMPLETE", told)
    (crashed,) = [one for one in part["checks"] if one["outcome"] == "crashed"]
    assert crashed["check"] == check
    assert re.search(place, crashed["why"])
    untold = {one["check"] for one in part["checks"] if one.get("untold")}
    assert ({"ink.total", "ink.heavy-solid"} <= untold) == without_inks

    said = " ".join(letter.read_text("utf-8").split())
    assert "failed through no fault of your files" in said
    assert "please do not sign the proof before" in said
    pages = PdfReader(out / "a-proof.pdf").pages
    proof = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert f"{check}: " in proof
    assert "through no fault of the file" in proof
    assert "CLEAR" not in proof
    for text in (told, said, proof):
        assert not re.search(r"damaged|export (?:it|the file) again|keeps? (?:this|the art)", text)


def test_what_numpy_raises_is_a_slip_of_who_called_it() -> None:
    with pytest.raises(ValueError, match="shape") as slip:
        eval("np.stack((np.zeros(2), np.zeros(3)))", {"np": np, "__name__": "prepcheck.art"})
    assert damage.is_ours(slip.value)
    with pytest.raises(ValueError, match="shape") as elsewhere:
        np.stack((np.zeros(2), np.zeros(3)))
    assert not damage.is_ours(elsewhere.value)
