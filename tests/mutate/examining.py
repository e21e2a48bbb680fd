"""Examines mutants in a process that may crash, and says of each what is wrong with the answer."""

from __future__ import annotations

import json
import multiprocessing
import os
import time
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

from prepcheck import __version__
from prepcheck.errors import itself_failed
from prepcheck.findings import Result, Status
from prepcheck.judging.registry import declarations
from prepcheck.report.json import report_text, schema_text
from prepcheck.run.answer import Answer, Task
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.memory import hold_memory_to
from prepcheck.run.message import Failed, packed, unpacked
from prepcheck.run.settings import Resolution, Settings
from prepcheck.run.work import examine_part
from prepcheck.spec.load import load_spec
from tests.mutate.mutants import Mutant

COARSE = Settings(
    worker=WorkerLimits(seconds=60.0), view=Resolution(60.0, 6e4), picture=Resolution(40.0, 6e4),
    inset=Resolution(60.0, 1e4), plate=Resolution(40.0, 2e4), coverage=Resolution(40.0, 2e4),
    ink_map=Resolution(40.0, 2e4),
)  # fmt: skip
"""So coarse that most of the time goes into reading."""
A_LIFE = 300
"""Mutants after which the process is started anew."""
SECONDS = 60.0
"""Processor time of one mutant that is a hang."""
TICKS = os.sysconf("SC_CLK_TCK")


class Examiner:
    """A process that examines one mutant after the other."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / "art.bin"
        self._process: Any = None
        self._pipe: Any = None
        self._asked = 0
        self._validator = Draft202012Validator(json.loads(schema_text()))
        self._checks = set(declarations())

    def wrong_with(self, mutant: Mutant) -> tuple[str, str]:
        """Return what is wrong with the answer, empty where nothing is, and what was said."""
        if self._process is None or self._asked >= A_LIFE:
            self.stop()
            self._pipe, other = multiprocessing.Pipe()
            context = multiprocessing.get_context("fork")
            self._process = context.Process(target=_serve, args=(other,), daemon=True)
            self._process.start()
            other.close()
            self._asked = 0
        self._asked += 1
        self._path.write_bytes(mutant.data)
        start = _processor_seconds(self._process.pid)
        self._pipe.send((self._path, mutant.spec))
        while not self._pipe.poll(2.0):
            if _processor_seconds(self._process.pid) - start > SECONDS:
                self.stop()
                return f"hang: more than {SECONDS:g} s of processor time", ""
            if not self._process.is_alive():
                break
        try:
            data = self._pipe.recv_bytes()
        except EOFError:
            self._process.join()
            code = self._process.exitcode
            self.stop()
            return f"crash: the process ended with {code}", ""
        return self._judged(unpacked(data, Answer))

    def _judged(self, answer: Answer | Failed) -> tuple[str, str]:
        if isinstance(answer, Failed):
            return ("" if not answer.ours else f"crash: {answer.why}"), f"failed: {answer.why}"
        faults = (*answer.usage_faults, *answer.order_faults)
        if faults:
            return ("" if all("\n" not in one for one in faults) else f"lines: {faults}"), "faults"
        if answer.proof is None:
            return "in part: no result", ""
        part = answer.proof.result
        crashed = [one for one in part.outcomes if one.status is Status.CRASHED]
        if crashed:
            return f"crash: {crashed[0].check}: {crashed[0].why}", ""
        named = [one.check for one in part.outcomes]
        if len(named) != len(set(named)) or set(named) != self._checks:
            return f"in part: {sorted(self._checks ^ set(named))}", ""
        report = json.loads(report_text(Result(__version__, None, (part,))))
        for error in self._validator.iter_errors(report):
            return f"in part: {error.message[:200]} at {error.json_path}", ""
        unread = [one for one in part.findings if one.check == "file.unreadable" and not part.pages]
        return "", "unreadable" if unread else "read"

    def stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._pipe.close()
            self._process = None


def _processor_seconds(pid: int) -> float:
    """Return the processor time of a process so far (Linux; else that of the wall clock)."""
    try:
        words = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return time.monotonic()
    return (int(words[11]) + int(words[12])) / TICKS


def _serve(pipe: Connection) -> None:
    silence = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        os.dup2(silence, stream)
    hold_memory_to(COARSE.worker.memory_mb)
    while True:
        try:
            path, spec = pipe.recv()
        except EOFError:
            return
        task = Task("part", path.name, path, (load_spec(spec),), "the order", settings=COARSE)
        try:
            data = packed(examine_part(task))
        except MemoryError:
            data = packed(Failed(COARSE.worker.out_of_memory()))
        except Exception as error:
            data = packed(Failed(itself_failed(error), ours=True))
        pipe.send_bytes(data)
