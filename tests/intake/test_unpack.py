"""What comes out of a delivery's archives, and what does not."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from prepcheck.intake.unpack import Unpacked, UnpackLimits, unpack
from tests.factories import one_page
from tests.intake.archives import marked_locked, with_link, zip_bytes, zipped

PDF = one_page("0 0 10 10 re f", (100, 100))
SMALL = UnpackLimits(
    files=5, file_bytes=2_000_000, total_bytes=5_000_000, depth=2, free_bytes=1, entries=50
)


def taken(tmp_path: Path, *paths: Path, limits: UnpackLimits = SMALL) -> Unpacked:
    into = tmp_path / "out"
    into.mkdir(exist_ok=True)
    return unpack(paths, into, limits)


def names(delivery: Unpacked) -> list[str]:
    return [file.name for file in delivery.files]


def everything_inside(tmp_path: Path, delivery: Unpacked) -> None:
    """Nothing was written but below the folder for it."""
    inside = (tmp_path / "out").resolve()
    for file in delivery.files:
        if "/" in file.name:
            assert file.path.resolve().is_relative_to(inside)
            assert not file.path.is_symlink()
    assert {p.name for p in tmp_path.iterdir()} <= {"out", "a.zip", "b.zip", "label.pdf"}


@pytest.mark.parametrize("stored", [True, False])
@pytest.mark.parametrize("suffix", ["zip", "pdf", "dat"])
def test_files_come_out_under_the_archives_name(tmp_path: Path, stored: bool, suffix: str) -> None:
    files = {"label-a.pdf": PDF, "art/label-b.pdf": PDF + b"%b", "art/Notes.txt": b"hello"}
    path = zipped(tmp_path / f"a.{suffix}", files, stored=stored)
    before = path.read_bytes()
    delivery = taken(tmp_path, path)
    assert names(delivery) == [f"a.{suffix}/{name}" for name in files]
    assert [file.path.read_bytes() for file in delivery.files] == list(files.values())
    assert delivery.refused == ()
    assert path.read_bytes() == before


def test_what_is_no_archive_stays_where_it_is(tmp_path: Path) -> None:
    path = tmp_path / "label.pdf"
    path.write_bytes(PDF)
    delivery = taken(tmp_path, path, tmp_path / "not-there.pdf")
    assert [(f.name, f.path) for f in delivery.files] == [
        ("label.pdf", path),
        ("not-there.pdf", tmp_path / "not-there.pdf"),
    ]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("../../label.pdf", "label.pdf"),
        ("/etc/label.pdf", "etc/label.pdf"),
        ("C:\\Users\\Ines\\label.pdf", "Users/Ines/label.pdf"),
        ("..\\..\\label.pdf", "label.pdf"),
        ("a/../../../label.pdf", "a/label.pdf"),
    ],
)
def test_paths_that_lead_out_are_taken_inside_and_told(
    tmp_path: Path, name: str, told: str
) -> None:
    delivery = taken(tmp_path, zipped(tmp_path / "a.zip", {name: PDF}))
    assert names(delivery) == [f"a.zip/{told}"]
    assert len(delivery.notes) == 1
    everything_inside(tmp_path, delivery)


@pytest.mark.parametrize(
    "name",
    [
        "con.pdf", "label?.pdf", "label\x07.pdf", "label\x00.pdf", "x" * 400 + ".pdf", "ラベル.pdf",
        " .pdf ", "a" + "/b" * 60 + ".pdf", "Größe №7.pdf", "label.pdf.", "é" * 200,
    ],
)  # fmt: skip
def test_odd_names_can_be_written_and_shown(tmp_path: Path, name: str) -> None:
    delivery = taken(tmp_path, zipped(tmp_path / "a.zip", {name: PDF}))
    if name.strip() == ".pdf":
        assert delivery.files == ()  # hidden, as systems leave them
        return
    (file,) = delivery.files
    assert file.name.startswith("a.zip/")
    assert file.name.isprintable()
    assert file.path.read_bytes() == PDF
    everything_inside(tmp_path, delivery)


def test_names_in_utf8_that_do_not_say_so(tmp_path: Path) -> None:
    # Without bit 11 a name is code page 437 (APPNOTE appendix D), but many tools write UTF-8.
    data = bytearray(zip_bytes({"Grosse.pdf": PDF}).replace(b"Grosse", "Gr\u00f6\u00df".encode()))
    path = tmp_path / "a.zip"
    path.write_bytes(data)
    assert names(taken(tmp_path, path)) == ["a.zip/Größ.pdf"]


def test_names_that_meet_are_told_apart(tmp_path: Path) -> None:
    same = ("label.pdf", "label.pdf", "LABEL.pdf", "art", "art/label.pdf")
    with pytest.warns(UserWarning, match="Duplicate name"):
        _write_twice(tmp_path / "a.zip", same)
    delivery = taken(tmp_path, tmp_path / "a.zip")
    assert len(names(delivery)) == len({n.casefold() for n in names(delivery)}) == 5
    assert delivery.refused == ()
    everything_inside(tmp_path, delivery)


def test_links_are_not_followed(tmp_path: Path) -> None:
    (tmp_path / "label.pdf").write_bytes(PDF)
    path = with_link(tmp_path / "a.zip", "label-a.pdf", "../label.pdf", {"label-b.pdf": PDF})
    delivery = taken(tmp_path, path)
    assert names(delivery) == ["a.zip/label-b.pdf"]
    (refused,) = delivery.refused
    assert refused.name == "a.zip/label-a.pdf"
    assert "link" in refused.why
    everything_inside(tmp_path, delivery)


def test_a_bomb_stops_at_the_limit(tmp_path: Path) -> None:
    path = zipped(tmp_path / "a.zip", {"bomb.tif": bytes(3_000_000), "label.pdf": PDF})
    delivery = taken(tmp_path, path)
    assert names(delivery) == ["a.zip/label.pdf"]
    assert "more than 2 MB" in str(delivery.refused[0])


def test_a_bomb_that_lies_about_its_size_stops_as_well(tmp_path: Path) -> None:
    data = zip_bytes({"bomb.tif": bytes(3_000_000)})
    lying = data.replace((3_000_000).to_bytes(4, "little"), (1000).to_bytes(4, "little"))
    assert lying != data
    path = tmp_path / "a.zip"
    path.write_bytes(lying)
    delivery = taken(tmp_path, path)
    assert delivery.files == ()
    assert len(delivery.refused) == 1
    assert sum(p.stat().st_size for p in (tmp_path / "out").rglob("*") if p.is_file()) == 0


def test_all_files_together_have_a_limit(tmp_path: Path) -> None:
    path = zipped(tmp_path / "a.zip", {f"{n}.tif": bytes(1_500_000) for n in range(5)})
    delivery = taken(tmp_path, path)
    assert len(delivery.files) == 3
    assert all("all files together" in refused.why for refused in delivery.refused)


def test_many_files_have_a_limit_and_each_refused_one_is_named(tmp_path: Path) -> None:
    path = zipped(tmp_path / "a.zip", {f"{n}.pdf": PDF for n in range(8)})
    delivery = taken(tmp_path, path)
    assert (len(delivery.files), len(delivery.refused)) == (5, 3)


def test_archives_in_archives(tmp_path: Path) -> None:
    inner = zip_bytes({"label.pdf": PDF}, stored=True)
    outer = {"inner.zip": inner, "deeper.zip": zip_bytes({"inner.zip": inner})}
    delivery = taken(tmp_path, zipped(tmp_path / "a.zip", outer))
    assert names(delivery) == ["a.zip/inner.zip/label.pdf"]
    (refused,) = delivery.refused
    assert refused.name == "a.zip/deeper.zip/inner.zip"
    assert "deep" in refused.why


def test_locked_entries_are_refused_and_the_rest_goes_on(tmp_path: Path) -> None:
    path, other = tmp_path / "a.zip", zipped(tmp_path / "b.zip", {"label.pdf": PDF})
    path.write_bytes(marked_locked(zip_bytes({"secret.pdf": PDF})))
    delivery = taken(tmp_path, path, other)
    assert names(delivery) == ["b.zip/label.pdf"]
    assert "password" in str(delivery.refused[0])


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_other_ways_to_pack_are_named(tmp_path: Path, method: int) -> None:
    delivery = taken(tmp_path, zipped(tmp_path / "a.zip", {"label.pdf": PDF}, method=method))
    assert delivery.files == ()
    assert "packed in a way that is not read" in delivery.refused[0].why


@pytest.mark.parametrize(
    "litter", ["__MACOSX/._label.pdf", ".DS_Store", "art/Thumbs.db", "desktop.ini", "._label.pdf"]
)
def test_what_systems_leave_is_passed_over(tmp_path: Path, litter: str) -> None:
    delivery = taken(tmp_path, zipped(tmp_path / "a.zip", {litter: b"x", "label.pdf": PDF}))
    assert names(delivery) == ["a.zip/label.pdf"]
    assert delivery.refused == ()


def test_an_empty_archive_is_said(tmp_path: Path) -> None:
    delivery = taken(tmp_path, zipped(tmp_path / "a.zip", {}))
    assert "empty" in str(delivery.refused[0])


def test_damage_anywhere_never_raises_and_never_passes_in_silence(tmp_path: Path) -> None:
    data = zip_bytes({"label-a.pdf": PDF * 3, "label-b.pdf": PDF * 2})
    rng = random.Random(7)
    path = tmp_path / "a.zip"
    (tmp_path / "out").mkdir()
    for round_ in range(150):
        broken = bytearray(data)
        if round_ % 3 == 0:
            broken = broken[: rng.randrange(4, len(data))]
        else:
            for _ in range(rng.randrange(1, 12)):
                broken[rng.randrange(4, len(broken))] = rng.randrange(256)
        path.write_bytes(broken)
        delivery = unpack([path], tmp_path / "out", SMALL)
        sound = [PDF * 3, PDF * 2]
        # A file that comes out is as it went in: the archive's own checksum vouches for it.
        assert all(file.path.read_bytes() in sound for file in delivery.files if file.path != path)
        assert delivery.files or delivery.refused
    everything_inside(tmp_path, Unpacked())


def test_an_archive_made_by_another_program(tmp_path: Path) -> None:
    """`python -m zipfile` is the same library; Info-ZIP, where it is there, is not."""
    (tmp_path / "label.pdf").write_bytes(PDF)
    command = ["zip", "-q", "a.zip", "label.pdf"]
    if not any((Path(folder) / "zip").exists() for folder in os.get_exec_path()):
        command = [sys.executable, "-m", "zipfile", "-c", "a.zip", "label.pdf"]
    subprocess.run(command, cwd=tmp_path, check=True)
    delivery = taken(tmp_path, tmp_path / "a.zip")
    assert delivery.files[0].path.read_bytes() == PDF


def _write_twice(path: Path, names: tuple[str, ...]) -> None:
    with zipfile.ZipFile(path, "w") as out:
        for name in names:
            out.writestr(name, PDF)
