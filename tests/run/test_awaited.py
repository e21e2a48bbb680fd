"""Orders of which something has not come: the rest is checked, and nothing is clear without it."""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path

import pytest
from pypdf import PdfReader

from prepcheck.findings import Result
from prepcheck.run.examine import inspect
from tests.run.art import QUICK, label_pdf, order_toml

NAMES = ("label-a.pdf", "label-b.pdf")
PARTS = "".join(
    f'[[part]]\nname = "Label {side}"\nside = "{side}"\nspec = "label-12in"\n{{{side}}}\n'
    for side in "AB"
)


def order(folder: Path, **files: str | None) -> Path:
    lines = {s: "" if f is None else f'file = "{f}"' for s, f in files.items()}
    return order_toml(folder, PARTS.format(**lines))


def examined(path: Path, **options: object) -> Result:
    return inspect(path, settings=QUICK, **options)  # type: ignore[arg-type]


@pytest.mark.parametrize("named", [True, False], ids=["file not there", "no file"])
@pytest.mark.parametrize("gone", [s for n in (1, 2) for s in combinations("AB", n)])
def test_what_has_not_come_is_asked_for_and_the_rest_is_checked(
    tmp_path: Path, named: bool, gone: tuple[str, ...]
) -> None:
    files: dict[str, str | None] = {}
    for side in "AB":
        name = f"label-{side.lower()}.pdf"
        files[side] = name if named or side not in gone else None
        if side not in gone:
            label_pdf(tmp_path / name)
    letter = tmp_path / "letter.txt"
    result = examined(order(tmp_path, **files), letter=letter)
    assert [part.received for part in result.parts] == [side not in gone for side in "AB"]
    assert [part.verdict.value for part in result.parts] == [
        "query" if side in gone else "clear" for side in "AB"
    ]
    assert result.verdict.value == "query"
    assert [part.name for part in result.awaited] == [f"Label {side}" for side in gone]
    text = letter.read_text(encoding="utf-8")
    for side in gone:
        listed = text.partition("Still to come from you:\n")[2].partition("\n\n")[0]
        assert f". Label {side}" in listed
        assert text.count(f"Label {side}") == 1, "nothing is asked twice"
    for part in result.awaited:
        (finding,) = part.findings
        assert (finding.check, finding.code) == ("order.missing-part", "not-received")
        assert part.outcomes == ()


def test_no_check_of_the_order_is_clear_about_what_was_not_seen(tmp_path: Path) -> None:
    label_pdf(tmp_path / "label-a.pdf")
    result = examined(order(tmp_path, A="label-a.pdf", B=None))
    clear = [o.check for o in result.outcomes if o.status.value == "clear"]
    assert "order.missing-part" not in clear
    assert "order.same-art" not in clear


def test_proof_and_report_show_it(tmp_path: Path) -> None:
    label_pdf(tmp_path / "label-a.pdf")
    proof, report = tmp_path / "p.pdf", tmp_path / "r.json"
    examined(order(tmp_path, A="label-a.pdf", B="label-b.pdf"), proof=proof, report=report)
    table = json.loads(report.read_text(encoding="utf-8"))
    assert [part.get("received", True) for part in table["parts"]] == [True, False]
    words = " ".join(page.extract_text() for page in PdfReader(proof).pages)
    assert "NOT RECEIVED" in words
    assert "could not be read" not in words


def test_a_hint_never_offers_another_parts_file(tmp_path: Path) -> None:
    label_pdf(tmp_path / "label-a.pdf")
    result = examined(order(tmp_path, A="label-a.pdf", B="label-b.pdf"))
    (finding,) = result.awaited[0].findings
    assert "label-a.pdf" not in finding.message + finding.fix
    label_pdf(tmp_path / "label_b.pdf")
    result = examined(order(tmp_path, A="label-a.pdf", B="label-b.pdf"))
    (finding,) = result.awaited[0].findings
    assert "label_b.pdf" in finding.fix
    assert result.spare == ("label_b.pdf",)


def test_spare_files_are_listed_and_only_art_is(tmp_path: Path) -> None:
    for name in (*NAMES, "sticker.pdf"):
        label_pdf(tmp_path / name)
    (tmp_path / "notes.txt").write_text("call me", encoding="utf-8")
    (tmp_path / ".hidden.pdf").write_bytes(b"%PDF-1.4")
    other = order_toml(tmp_path, '[[part]]\nname="x"\nfile="another.pdf"\n', name="other.toml")
    label_pdf(tmp_path / "another.pdf")
    path = order(tmp_path, A=NAMES[0], B=NAMES[1])
    outputs = {"proof": tmp_path / "proof.pdf", "report": tmp_path / "r.json"}
    first = examined(path, letter=tmp_path / "l.txt", **outputs)
    assert first.spare == ("sticker.pdf",)
    assert first.verdict.value == "clear"
    # A second run finds the outputs of the first beside the order, and takes none of them as art.
    assert examined(path, **outputs).spare == ("sticker.pdf",)
    assert other.exists()
    text = (tmp_path / "l.txt").read_text(encoding="utf-8")
    assert "sticker.pdf came too, but is no part of the order" in " ".join(text.split())
