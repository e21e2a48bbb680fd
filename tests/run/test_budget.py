"""What a part may take is asked for, kept to, and told as what it is."""

from __future__ import annotations

import json
import zlib
from pathlib import Path

from click.testing import CliRunner

from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from prepcheck.output import is_ours
from tests.factories import Pdf


def heavy(path: Path, lines: int) -> Path:
    """Write a label of many strokes, which are honest and take long."""
    content = "".join(f"{n % 290} {n % 283} m {n % 277} {n % 271} l S\n" for n in range(lines))
    pdf = Pdf()
    pdf.page(content, (106.0, 106.0), trim_mm=(3, 3, 103, 103))
    path.write_bytes(pdf.bytes())
    return path


def test_the_time_of_a_part_is_limited_and_told(tmp_path: Path) -> None:
    path = heavy(tmp_path / "a.pdf", 600_000)
    ended = CliRunner().invoke(
        cli,
        ["check", str(path), "--spec", "label-12in", "--out", str(tmp_path), "--part-seconds", "1"],
    )
    assert ended.exit_code == ExitCode.STOP
    (part,) = json.loads((tmp_path / "a-report.json").read_text())["parts"]
    (finding,) = part["findings"]
    assert finding["check"] == "file.unreadable"
    assert "longer than 1 s" in finding["message"]
    assert "--part" not in finding["fix"], "the client cannot change it"
    assert "allow it more time with --part-seconds" in ended.stderr
    assert is_ours(tmp_path / "a-proof.pdf")


def test_a_large_proof_of_ours_is_known_again(tmp_path: Path) -> None:
    """Its marks may stand far from both ends."""
    pictures = zlib.compress(bytes(range(256)) * 4, 0) * 200
    path = tmp_path / "proof.pdf"
    path.write_bytes(
        b"%PDF-1.4\n% ReportLab Generated PDF document\n" + pictures
        + b"/Creator (prepcheck 0.1.0) /Subject (Artwork proof)" + pictures
    )  # fmt: skip
    assert is_ours(path)
