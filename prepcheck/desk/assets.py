"""What pages are made with: style sheet, modules, mark. Their addresses change when they do, so
that a browser asks for each once."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

_FOLDER = Path(__file__).parent / "static"
_KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
_FOR_EVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True)
class Assets:
    """The files by name, and what their addresses carry: a digest of them all."""

    files: dict[str, bytes]
    stamp: str

    def at(self, name: str) -> str:
        """Return the path of a file under the desk. Raises KeyError where there is none."""
        self.files[name]
        return f"/static/{self.stamp}/{name}"

    async def answer(self, request: Request) -> Response:
        """Hand out a file; under another stamp than its own it is handed out but not kept."""
        name = request.path_params["name"]
        found = self.files.get(name)
        if found is None:
            raise HTTPException(404, "there is no such file")
        kept = request.path_params["stamp"] == self.stamp
        headers = {"cache-control": _FOR_EVER if kept else "no-cache"}
        return Response(found, media_type=_KINDS[Path(name).suffix], headers=headers)


def read_assets(folder: Path = _FOLDER) -> Assets:
    """Return the files of a folder."""
    files = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
    said = hashlib.sha256()
    for name, data in files.items():
        said.update(f"{name} {len(data)} ".encode() + data)
    return Assets(files, said.hexdigest()[:16])
