"""Archives of known content, written with Python's zipfile and tarfile and by hand."""

from __future__ import annotations

import io
import stat
import tarfile
import zipfile
from collections.abc import Mapping
from pathlib import Path


def zipped(
    path: Path, files: Mapping[str, bytes], *, stored: bool = False, method: int | None = None
) -> Path:
    """Write a ZIP of files, deflated unless `stored`."""
    how = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
    with zipfile.ZipFile(path, "w", how if method is None else method) as out:
        for name, data in files.items():
            out.writestr(name, data)
    return path


def zip_bytes(files: Mapping[str, bytes], *, stored: bool = False) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED) as made:
        for name, data in files.items():
            made.writestr(name, data)
    return out.getvalue()


def with_link(path: Path, name: str, target: str, files: Mapping[str, bytes]) -> Path:
    """Write a ZIP with a symbolic link in it, as Info-ZIP's `zip -y` does."""
    with zipfile.ZipFile(path, "w") as out:
        info = zipfile.ZipInfo(name)
        info.create_system = 3
        info.external_attr = (stat.S_IFLNK | 0o777) << 16
        out.writestr(info, target)
        for other, data in files.items():
            out.writestr(other, data)
    return path


def marked_locked(data: bytes) -> bytes:
    """Return a ZIP with the bit for encryption set on every entry (APPNOTE 4.4.4, bit 0)."""
    out = bytearray(data)
    for magic, at in ((b"PK\3\4", 6), (b"PK\1\2", 8)):
        start = out.find(magic)
        while start >= 0:
            out[start + at] |= 1
            start = out.find(magic, start + 4)
    return bytes(out)


def tarred(files: Mapping[str, bytes], mode: str = "w", form: int = tarfile.USTAR_FORMAT) -> bytes:
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode=mode, format=form) as made:  # type: ignore[call-overload]
        for name, data in files.items():
            info = tarfile.TarInfo(name)
            info.size = len(data)
            made.addfile(info, io.BytesIO(data))
    return out.getvalue()


def old_tar(name: str, data: bytes) -> bytes:
    """Return a TAR as before POSIX, without 'ustar' (Unix V7 header block)."""
    block = bytearray(512)
    block[: len(name)] = name.encode()
    block[100:108], block[108:116], block[116:124] = b"000644 \0", b"000000 \0", b"000000 \0"
    block[124:136], block[136:148] = b"%011o " % len(data), b"00000000000 "
    block[148:156] = b" " * 8
    block[148:156] = b"%06o\0 " % sum(block)
    return bytes(block) + data + bytes(-len(data) % 512 + 1024)
