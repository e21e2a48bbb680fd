"""The folder of pictures keeps to its size."""

from __future__ import annotations

import os
from pathlib import Path

from prepcheck.desk.tidying import Bounded


def _drawn(folder: Path, key: str, used: float, size: int = 1000) -> Path:
    place = folder / key[:2] / key[2:]
    (place / "tiles").mkdir(parents=True)
    for where in (place, place / "tiles"):
        (where / "picture.jpg").write_bytes(bytes(size))
        (where / "facts.json").write_text("")
        os.utime(where / "facts.json", (used, used))
    return place


def test_what_was_not_looked_at_for_longest_goes_first(tmp_path: Path) -> None:
    bounded = Bounded(tmp_path, 7_000)
    old, new = _drawn(tmp_path, "aaaa", 100.0), _drawn(tmp_path, "bbbb", 300.0)
    middle = _drawn(tmp_path, "abcd", 200.0)
    bounded.added(middle / "tiles")
    assert all((place / "tiles").is_dir() for place in (old, middle, new)), "6,000 are not too many"
    latest = _drawn(tmp_path, "cccc", 50.0)
    bounded.added(latest / "tiles")
    assert (latest / "tiles").is_dir(), "what was just drawn stays"
    assert not old.exists() or not (old / "tiles").exists()
    assert (new / "tiles").is_dir()
    left = sum(one.stat().st_size for one in tmp_path.rglob("*") if one.is_file())
    assert left <= 0.8 * 7_000
    assert list((tmp_path / "aside").iterdir()) == []
