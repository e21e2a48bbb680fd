"""What a machine of a cluster does with a part: hands it to a process of its own, and waits.

Imported by workers and by the scheduler, so it takes little itself. The process is `station`: it
starts from nothing, whatever threads run in here, and guards the part as on one machine.
"""

from __future__ import annotations

import os
import select
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

LOST_TWICE = "two machines that checked it were lost while they did; have it looked at by hand"
ALLOWED_LOSSES = 2
_LOOK_SECONDS = 0.2
_IDLE_SECONDS = 60.0
"""How long a station is kept without work; it ends itself after twice as long."""
_HEAD = 8
"""Bytes before each message that tell its length."""


class GivenUpError(Exception):
    """Nobody waits for the part any more."""


class StationError(Exception):
    """The process that had the part ended without a reply."""


def examine_sent(parcel: bytes, content: bytes | None, run: str, counter: str) -> bytes:
    """Examine a part and return the reply, both as messages (`parcel`).

    `content` are the file's bytes, None where the storage is shared. `counter` names the part
    among those of a `run`: one that two workers were lost with is answered as failed by the third.
    """
    from distributed import get_client, get_worker

    from prepcheck.run.parcel import BESIDE, Reply, failed, replied

    worker, client = get_worker(), get_client()
    counted = ["prepcheck", run, counter]
    lost = int(client.get_metadata(counted, 0) or 0)
    if lost >= ALLOWED_LOSSES:
        from prepcheck.run.message import packed

        return replied(Reply(packed(failed(LOST_TWICE))))
    client.set_metadata(counted, lost + 1)
    key = worker.get_current_task()
    with tempfile.TemporaryDirectory(dir=worker.local_directory, prefix="part-") as folder:
        if content is not None:
            Path(folder, BESIDE).write_bytes(content)
        reply = asked(folder, parcel, lambda: _is_wanted(worker, key))
    client.set_metadata(counted, lost)
    return reply


def _is_wanted(worker: Any, key: object) -> bool:
    """Say whether the scheduler still wants a part that is being examined."""
    task = worker.state.tasks.get(key)
    return task is not None and task.state != "cancelled"


def asked(folder: str, parcel: bytes, wanted: Callable[[], bool]) -> bytes:
    """Have a station examine a part in a folder of its own, and return its reply.

    Raises GivenUpError as soon as it is not `wanted`, and StationError; the station is then ended.
    """
    station = _station()
    try:
        assert station.stdin is not None
        for message in (os.fsencode(folder), parcel):
            station.stdin.write(len(message).to_bytes(_HEAD, "big"))
            station.stdin.write(message)
        station.stdin.flush()
        reply = _reply(station, wanted)
    except BrokenPipeError:
        _end(station)
        raise StationError("it ended before it had the part") from None
    except BaseException:
        _end(station)
        raise
    with _LOCK:
        _IDLE.append((time.monotonic(), station))
    return reply


def _reply(station: subprocess.Popen[bytes], wanted: Callable[[], bool]) -> bytes:
    assert station.stdout is not None
    number, data = station.stdout.fileno(), bytearray()
    while len(data) < _HEAD or len(data) < _HEAD + int.from_bytes(data[:_HEAD], "big"):
        if not wanted():
            raise GivenUpError("nobody waits for this part any more")
        if select.select([number], [], [], _LOOK_SECONDS)[0]:
            chunk = os.read(number, 1 << 20)
            if not chunk:
                raise StationError("it ended without a reply")
            data += chunk
    return bytes(data[_HEAD:])


# A function that dask calls has no place of its own to keep processes in.
_IDLE: list[tuple[float, subprocess.Popen[bytes]]] = []
_LOCK = threading.Lock()


def _station() -> subprocess.Popen[bytes]:
    """Return a process that waits for a part: one that has done others, or a new one."""
    while True:
        with _LOCK:
            since, station = _IDLE.pop() if _IDLE else (0.0, None)
        if station is None:
            break
        if time.monotonic() - since < _IDLE_SECONDS and station.poll() is None:
            return station
        _end(station)
    return subprocess.Popen(
        [sys.executable, "-m", "prepcheck.run.station", str(os.getpid())],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYDANTIC_DISABLE_PLUGINS": "__all__"},
        cwd=Path(tempfile.gettempdir()),
    )  # fmt: skip


def _end(station: subprocess.Popen[bytes]) -> None:
    station.kill()
    for pipe in (station.stdin, station.stdout):
        with suppress(OSError):
            if pipe is not None:
                pipe.close()
    station.wait()
