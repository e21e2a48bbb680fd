"""Parts on their way to another machine arrive as they were, or are refused."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from prepcheck.errors import UsageError
from prepcheck.order import Order, loose_part
from prepcheck.press.show import condition
from prepcheck.press.show.condition import load_condition, take_along
from prepcheck.run.answer import Answer, Sharing, Task
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.message import Failed, unpacked
from prepcheck.run.on_cluster import GivenUpError, asked
from prepcheck.run.parcel import (
    BESIDE,
    ParcelError,
    opened,
    parcel_of,
    reply_of,
    versions,
)
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.tables import read_table
from tests.run.art import QUICK, label_pdf

HEAD = {
    "number": "P-9", "client": "Ålund & Co", "title": "Two  Rooms", "catalogue": "TR 1",
    "format": "12-inch",
}  # fmt: skip


def task_of(path: Path, **more: object) -> Task:
    path.write_bytes(b"%PDF-1.4 no more")
    order = read_table(Order, {"order": HEAD, "part": [{"name": "Label A", "side": "A"}]})
    # As a file came: blanks before its name, which an order file would not be let.
    part = loose_part("Label A", " \udcc3 name.pdf".replace("\udcc3", "Ã"), side="A", page=2)
    specs = tuple(load_spec(name) for name in spec_names())
    task = Task(
        "Label A", " name.pdf", path, specs, None, part, order, settings=QUICK, with_pictures=True,
        sharing=Sharing((part,), (specs,), (1, 2)), own_specs=((2, specs[0]),),
    )  # fmt: skip
    return replace(task, **more)  # type: ignore[arg-type]


def sent(task: Task, folder: Path) -> Task:
    packed = parcel_of(task, shared=False)
    assert packed is not None
    parcel, content = packed
    assert content is not None
    folder.mkdir(exist_ok=True)
    (folder / BESIDE).write_bytes(content)
    return opened(parcel, folder)[0]


def test_a_task_arrives_as_it_was_and_its_file_with_the_same_bytes(tmp_path: Path) -> None:
    own = os.fsdecode(b"caf\xe9 .pdf")  # Latin-1 in a name, as old systems leave it
    for name in ("plain.pdf", own):
        task = task_of(tmp_path / name)
        there = sent(task, tmp_path / "there")
        assert replace(there, path=task.path) == task
        assert there.path.name == name
        assert there.path.read_bytes() == task.path.read_bytes()


def test_what_no_message_can_hold_stays_here(tmp_path: Path) -> None:
    task = task_of(tmp_path / "a.pdf")
    assert parcel_of(replace(task, path=tmp_path / "none.pdf"), shared=False) is None
    assert parcel_of(replace(task, path=tmp_path), shared=False) is None
    small = replace(QUICK, art=replace(QUICK.art, file_bytes=3))
    assert parcel_of(replace(task, settings=small), shared=False) is None
    assert parcel_of(replace(task, name="half a \udcff"), shared=False) is None


def test_machines_that_differ_refuse_and_say_in_what(tmp_path: Path) -> None:
    packed = parcel_of(task_of(tmp_path / "a.pdf"), shared=False)
    assert packed is not None
    plain = msgspec.msgpack.decode(packed[0])
    here = dict(versions())
    plain["versions"] = [[k, "0.0" if k == "pypdf" else v] for k, v in here.items()]
    with pytest.raises(ParcelError, match=rf"it has pypdf {here['pypdf']}, .* has 0\.0; "):
        opened(msgspec.msgpack.encode(plain), tmp_path)


@pytest.mark.parametrize("name", [b"../a.pdf", b"/etc/a.pdf", b"", b".."])
def test_a_file_is_laid_nowhere_else(tmp_path: Path, name: bytes) -> None:
    packed = parcel_of(task_of(tmp_path / "a.pdf"), shared=False)
    assert packed is not None
    plain = msgspec.msgpack.decode(packed[0])
    plain["name"] = name
    with pytest.raises(ParcelError, match="names no file"):
        opened(msgspec.msgpack.encode(plain), tmp_path)


@pytest.mark.parametrize("data", [b"", b"\x80", b"garbage", b"\xc1"])
def test_what_is_no_parcel_is_refused(tmp_path: Path, data: bytes) -> None:
    with pytest.raises(ParcelError, match="cannot be read here"):
        opened(data, tmp_path)


def test_shared_files_are_read_where_they_lie_and_must_be_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    task = task_of(tmp_path / "a.pdf")
    packed = parcel_of(task, shared=True)
    assert packed is not None
    assert packed[1] is not None, "what lies in this machine's own temporary folder goes along"
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path / "other"))
    packed = parcel_of(task, shared=True)
    assert packed is not None
    assert packed[1] is None
    for number in (1, 2, 3):
        (tmp_path / str(number)).mkdir()
    there, _ = opened(packed[0], tmp_path / "1")
    assert there.path.read_bytes() == task.path.read_bytes()
    assert there.path.name == "a.pdf"
    task.path.write_bytes(b"longer, and another file altogether")
    with pytest.raises(ParcelError, match=r"35 bytes here, not 16; --shared is for"):
        opened(packed[0], tmp_path / "2")
    task.path.unlink()
    with pytest.raises(ParcelError, match=r"a\.pdf: there is no such file here; --shared is for"):
        opened(packed[0], tmp_path / "3")


def test_a_print_condition_of_ones_own_goes_along(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(condition, "_ALONG", {})
    (tmp_path / "house.icc").write_bytes(b"profile")
    own = tmp_path / "house.toml"
    own.write_text('extends = "coated-board"\ntitle = "Ours"\nprofile = "house.icc"\n')
    here = load_condition(str(own))
    spec = load_spec("label-12in").replaced(print_condition=str(own))
    packed = parcel_of(task_of(tmp_path / "a.pdf", specs=(spec,)), shared=False)
    assert packed is not None
    (tmp_path / BESIDE).write_bytes(packed[1] or b"")
    task, along = opened(packed[0], tmp_path)
    assert task.specs == (spec,)
    own.unlink()
    load_condition.cache_clear()
    with pytest.raises(UsageError):
        load_condition(str(own))
    take_along(along)
    there = load_condition(str(own))
    assert (there.name, there.title, there.profile) == ("house", "Ours", b"profile")
    assert (there.primaries == here.primaries).all()
    load_condition.cache_clear()


def test_a_process_of_its_own_examines_what_comes_and_keeps_to_its_budget(tmp_path: Path) -> None:
    """One process does all three: it is kept for the next part."""
    spec = load_spec("label-12in")
    task = Task("a", "a.pdf", label_pdf(tmp_path / "a.pdf"), (spec,), settings=QUICK)
    packed = parcel_of(task, shared=False)
    assert packed is not None
    room = tmp_path / "room"
    room.mkdir()
    (room / BESIDE).write_bytes(packed[1] or b"")
    answer = unpacked(reply_of(asked(str(room), packed[0], lambda: True)).answer, Answer)
    assert isinstance(answer, Answer)
    assert answer.proof is not None
    assert answer.proof.result.trim_mm == pytest.approx((100.0, 100.0), abs=1e-6)

    brief = replace(QUICK, worker=WorkerLimits(seconds=0.01))
    packed = parcel_of(replace(task, settings=brief), shared=False)
    assert packed is not None
    (room / BESIDE).write_bytes(packed[1] or b"")
    failed = unpacked(reply_of(asked(str(room), packed[0], lambda: True)).answer, Answer)
    assert isinstance(failed, Failed)
    assert "longer than 0.01 s" in failed.why

    with pytest.raises(GivenUpError):
        asked(str(room), packed[0], lambda: False)


def test_replies_are_read_by_their_type() -> None:
    assert reply_of(b"\x93").refused is not None
    assert reply_of(msgspec.msgpack.encode({"answer": 3})).refused is not None
