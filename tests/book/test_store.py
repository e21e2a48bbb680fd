"""Files are kept by their SHA-256 (FIPS 180-4), or stay where they were."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from prepcheck.book.store import Kept, Store
from prepcheck.errors import OutputError

DATA = b"a label"
DIGEST = hashlib.sha256(DATA).hexdigest()


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(tmp_path / "files")
    store.make()
    return store


@pytest.mark.parametrize("way", ["keep", "take"])
def test_a_file_is_kept_whole_and_nothing_is_left_aside(
    store: Store, way: str, tmp_path: Path
) -> None:
    source = tmp_path / "label.pdf"
    source.write_bytes(DATA)
    kept = getattr(store, way)(source)
    assert (kept.digest, kept.bytes) == (DIGEST, len(DATA))
    assert store.read(DIGEST) == DATA
    assert source.exists() == (way == "keep")
    assert [path.name for path in store.folder.rglob("*") if path.is_file()] == [DIGEST[2:]]


@pytest.mark.parametrize("way", ["keep", "take"])
def test_a_file_that_cannot_be_kept_stays_where_it_was(
    store: Store, way: str, tmp_path: Path
) -> None:
    source = tmp_path / "label.pdf"
    source.write_bytes(DATA)
    (store.folder / DIGEST[:2]).write_bytes(b"in the way")
    with pytest.raises(OutputError, match="nothing was recorded"):
        getattr(store, way)(source)
    assert source.read_bytes() == DATA


@pytest.mark.parametrize("settled", [False, True])
def test_a_file_whose_taking_is_interrupted_is_in_the_store_or_where_it_was(
    store: Store, settled: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = tmp_path / "label.pdf"
    source.write_bytes(DATA)
    settle = Store._settle

    def interrupted(self: Store, aside: Path, kept: Kept) -> None:
        if settled:
            settle(self, aside, kept)
        raise KeyboardInterrupt

    monkeypatch.setattr(Store, "_settle", interrupted)
    with pytest.raises(KeyboardInterrupt):
        store.take(source)
    assert (store.read(DIGEST) if settled else source.read_bytes()) == DATA
    assert len([path for path in tmp_path.rglob("*") if path.is_file()]) == 1
