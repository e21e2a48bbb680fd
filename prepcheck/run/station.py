"""A process that examines parts which come from another machine, each in a guarded worker.

`python -m prepcheck.run.station PARENT` is asked over stdin: the folder a part may use, then its
parcel, each with its length before it; it replies on stdout. It ends with its parent, when stdin
is closed, and when it has had nothing to do for long. It has one thread, so that workers are
forked from it with all imports done.
"""

from __future__ import annotations

import importlib
import os
import select
import shutil
import signal
import sys
from pathlib import Path
from typing import BinaryIO, NoReturn

from prepcheck.frozen import dataclass
from prepcheck.press.show.condition import ConditionAlong, take_along
from prepcheck.run.answer import Answer, Task
from prepcheck.run.message import packed
from prepcheck.run.parcel import ParcelError, Refused, Reply, opened, replied
from prepcheck.run.work import examine_part
from prepcheck.run.worker import isolated

_HEAD = 8
_IDLE_SECONDS = 120.0
_LOOK_SECONDS = 1.0


@dataclass(frozen=True)
class Sent:
    """A part from another machine, and the print conditions that came with it."""

    task: Task
    conditions: tuple[ConditionAlong, ...]


def examine_sent_part(sent: Sent) -> Answer:
    """Examine a part as its own machine would: what a worker does."""
    take_along(sent.conditions)
    return examine_part(sent.task)


def reply_to(parcel: bytes, folder: Path) -> Reply:
    """Return the answer to a parcel, whose file is laid into a folder."""
    try:
        task, conditions = opened(parcel, folder)
    except ParcelError as error:
        return Reply(refused=Refused(str(error)))
    except OSError as error:
        return Reply(refused=Refused(f"{folder}: {error.strerror or error}"))
    ended = isolated(
        examine_sent_part, [Sent(task, conditions)], Answer, jobs=1, limits=task.settings.worker,
        scratch=folder,
    )  # fmt: skip
    return Reply(packed(next(iter(ended)).answer))


def main() -> None:
    """Serve until nobody asks any more."""
    parent = int(sys.argv[1])
    replies = os.fdopen(os.dup(1), "wb")
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)  # libraries talk; stdout is for replies alone
    folder: Path | None = None

    def look(number: int, frame: object) -> None:
        if os.getppid() != parent:
            _leave(folder)

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGALRM, look)
    signal.setitimer(signal.ITIMER_REAL, _LOOK_SECONDS, _LOOK_SECONDS)
    importlib.import_module("prepcheck.run.preload")
    asked = os.fdopen(os.dup(0), "rb", buffering=0)
    while select.select([asked], [], [], _IDLE_SECONDS)[0]:
        place = _message(asked)
        folder = Path(os.fsdecode(place))
        reply = replied(reply_to(_message(asked), folder))
        folder = None
        replies.write(len(reply).to_bytes(_HEAD, "big") + reply)
        replies.flush()


def _message(asked: BinaryIO) -> bytes:
    """Return the next message; leaves where there is none."""
    return _exactly(asked, int.from_bytes(_exactly(asked, _HEAD), "big"))


def _exactly(asked: BinaryIO, count: int) -> bytes:
    data = bytearray()
    while len(data) < count:
        chunk = asked.read(min(count - len(data), 1 << 20))
        if not chunk:
            _leave(None)
        data += chunk
    return bytes(data)


def _leave(folder: Path | None) -> NoReturn:
    if folder is not None:
        shutil.rmtree(folder, ignore_errors=True)
    raise SystemExit


if __name__ == "__main__":
    main()
