"""Takes art out of archives that are named among it."""

from __future__ import annotations

from pathlib import Path

from prepcheck.intake.aside import Aside
from prepcheck.intake.unpack import looks_like_zip, unpack
from prepcheck.run.gather import Arrived, Opened, Unzip


def opener(into: Aside) -> Unzip:
    """Return what takes files out of ZIP archives, each archive to a folder of its own."""

    def opened(path: Path) -> Opened | None:
        if not looks_like_zip(path):
            return None
        place = into.folder()
        folder = place / f"delivery-{len(list(place.iterdir()))}"
        folder.mkdir()
        delivery = unpack([path], folder)
        return Opened(
            tuple(Arrived(file.path, file.name) for file in delivery.files),
            tuple((one.name, one.why) for one in delivery.refused),
            delivery.notes,
        )

    return opened
