"""Holds whoever examines art at opening it, for as long as a test wants: what must not end before
something else has come does not, however fast or busy the machine is."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_HOLDS = """
import os, sys, time
own = os.getpid()
def look(event, arguments):
    if event != "open" or arguments[1] is None or os.getpid() == own:
        return  # what is opened without a mode may be a folder that is removed
    if {art!r} in str(arguments[0]):
        open({reached!r} + str(os.getpid()), "wb").close()
        while os.path.exists({held!r}):
            time.sleep(0.01)
sys.addaudithook(look)
"""


class Holding:
    """Programs started in this `environment` hold the processes forked from them where these open
    a file whose path has `art` in it, while `held`."""

    def __init__(self, folder: Path, art: str) -> None:
        self._held, self._reached = folder / "held", folder / "reached"
        self._reached.mkdir()
        names = {"art": art, "held": str(self._held), "reached": f"{self._reached}/"}
        # Python imports it by itself as it starts.
        (folder / "sitecustomize.py").write_text(_HOLDS.format(**names))
        paths = [str(folder), *filter(None, [os.environ.get("PYTHONPATH")])]
        self.environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths)}

    @contextmanager
    def held(self) -> Iterator[None]:
        """Hold from now on; whoever is held at the end goes on."""
        for path in self._reached.iterdir():
            path.unlink()
        self._held.touch()
        try:
            yield
        finally:
            self._held.unlink()

    def reached(self) -> list[int]:
        """Return which processes have been held since this last began."""
        return [int(path.name) for path in self._reached.iterdir()]
