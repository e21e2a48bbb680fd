"""Files taken in at the desk."""

from __future__ import annotations

import errno
import hashlib
import io
import zipfile
from pathlib import Path

import pytest

from prepcheck.book.store import Kept
from prepcheck.desk.multipart import name_of
from prepcheck.desk.settings import DeskSettings
from tests.desk.conftest import Room, secret_of

Sent = list[tuple[str, tuple[str, bytes]]]


def _sent(files: dict[str, bytes]) -> Sent:
    return [("files", item) for item in files.items()]


def test_files_and_archives_come_into_the_book_as_they_are(room: Room) -> None:
    client = room.person()
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("inside/label-b.pdf", b"B" * 100)
    large = bytes(range(256)) * 20_000
    data = {"secret": secret_of(client.get("/").text), "order": "TR-1", "sender": "Wil"}
    files = _sent({"label-a.pdf": large, "all.zip": packed.getvalue()})
    answer = client.post("/drop", data=data, files=files)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/order/TR-1?said=received#rounds"
    delivery = room.book.story("TR-1").deliveries[0]
    assert (delivery.sender, delivery.way) == ("Wil", "at the desk")
    names = {file.name: file for file in delivery.files}
    assert set(names) == {"label-a.pdf", "all.zip", "all.zip/inside/label-b.pdf"}
    assert room.book.store.read(names["label-a.pdf"].digest) == large
    assert room.woken == ["woken"]
    assert list((room.book.folder / "arriving").iterdir()) == []
    again = client.post("/drop", data=data, files=files)
    assert "said=again" in again.headers["location"]


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("../../etc/passwd", "passwd"), ("C:\\art\\label.pdf", "label.pdf"),
        ("a\x00b\x1b[31m.pdf", "a_b_[31m.pdf"), ("", ""), ("/", ""), ("x" * 300, "x" * 240),
    ],
)  # fmt: skip
def test_of_what_a_browser_calls_a_file_only_its_name_is_left(given: str, shown: str) -> None:
    assert name_of(given) == shown


def test_two_files_of_one_name_are_told_apart(room: Room) -> None:
    client = room.person()
    data = {"secret": secret_of(client.get("/").text), "order": "TR-1"}
    files: Sent = [("files", ("a.pdf", b"1")), ("files", ("a.pdf", b"2"))]
    assert client.post("/drop", data=data, files=files).status_code == 303
    assert [f.name for f in room.book.story("TR-1").deliveries[0].files] == [
        "a.pdf", "2 of a.pdf"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "status"),
    [({}, 403), ({"secret": "0" * 64}, 403), ({"secret": None, "order": "TR-9"}, 422)],
)
def test_nothing_is_kept_of_files_that_may_not_come(
    room: Room, fields: dict[str, str | None], status: int
) -> None:
    client = room.person()
    secret = secret_of(client.get("/").text)
    before = sorted(room.book.folder.rglob("*"))
    data = {name: secret if value is None else value for name, value in fields.items()}
    answer = client.post("/drop", data=data, files=_sent({"a.pdf": b"x" * 10_000}))
    assert answer.status_code == status
    arriving = room.book.folder / "arriving"
    assert [p for p in sorted(room.book.folder.rglob("*")) if p != arriving] == before
    assert room.book.story("TR-1").deliveries == ()


def test_a_secret_that_comes_behind_the_files_does_not_do(room: Room) -> None:
    client = room.person()
    secret = secret_of(client.get("/").text)
    body = (
        b'--X\r\nContent-Disposition: form-data; name="files"; filename="a.pdf"\r\n\r\nart\r\n'
        b'--X\r\nContent-Disposition: form-data; name="secret"\r\n\r\n' + secret.encode() +
        b"\r\n--X--\r\n"
    )  # fmt: skip
    kind = {"content-type": "multipart/form-data; boundary=X"}
    assert client.post("/drop", content=body, headers=kind).status_code == 403


def test_too_many_or_too_much_is_refused_and_no_rest_is_left(room: Room) -> None:
    room.settings = DeskSettings(delivery_files=2, delivery_bytes=50_000)
    client = room.person()
    data = {"secret": secret_of(client.get("/").text), "order": "TR-1"}
    many = _sent({f"{i}.pdf": b"x" for i in range(3)})
    assert client.post("/drop", data=data, files=many).status_code == 413
    assert client.post("/drop", data=data, files=_sent({"a.pdf": b"x" * 60_000})).status_code == 413
    assert client.post("/drop", data=data, files=_sent({"": b""})).status_code in (400, 422)
    assert list((room.book.folder / "arriving").iterdir()) == []
    assert room.book.story("TR-1").deliveries == ()


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (b"no form", "multipart/form-data; boundary=X"),
        (b"--X\r\nContent-Disposition: form-data", "multipart/form-data; boundary=X"),
        (b"--X", "multipart/form-data"),
        (b"{}", "application/json"),
    ],
)
def test_what_is_no_form_is_refused_in_a_line(room: Room, body: bytes, kind: str) -> None:
    answer = room.person().post("/drop", content=body, headers={"content-type": kind})
    assert answer.status_code in (400, 415)
    assert "Traceback" not in answer.text


def test_whoever_is_not_logged_in_brings_nothing(room: Room) -> None:
    answer = room.browser().post("/drop", files=_sent({"a.pdf": b"x"}))
    assert answer.headers["location"].startswith("/login")
    assert room.book.story("TR-1").deliveries == ()


def test_what_is_ours_is_moved_into_the_book_and_else_copied(
    room: Room, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Truth is the file system's own number of the file, and SHA-256 as hashlib has it."""
    moved, copied = room.book.folder / "moved", tmp_path / "copied"
    for path, data in ((moved, b"M" * 70_000), (copied, b"C" * 70_000)):
        path.write_bytes(data)
        number = path.stat().st_ino
        if path is copied:  # as if it lay on another file system

            def refused(one: Path, to: Path) -> Path:
                raise OSError(errno.EXDEV, "Invalid cross-device link")

            monkeypatch.setattr(Path, "rename", refused)
        kept = room.book.take(path)
        monkeypatch.undo()
        assert kept == Kept(hashlib.sha256(data).hexdigest(), len(data))
        assert room.book.store.read(kept.digest) == data
        assert (room.book.path(kept.digest).stat().st_ino == number) == (path is moved)
        assert room.book.store.left_aside() == ()
    assert not moved.exists()
