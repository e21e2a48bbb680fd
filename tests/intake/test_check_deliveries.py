"""`prepcheck check` on what clients send: archives, freely named files, further rounds."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from prepcheck.cli import cli
from prepcheck.errors import ExitCode
from tests.intake.archives import marked_locked, with_link, zip_bytes, zipped
from tests.intake.labels import label_pages, order_of, side_lines
from tests.run.art import label_pdf, two_labels

pytestmark = pytest.mark.usefixtures("no_pictures")


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="prepcheck")


def report_of(out: Path) -> dict[str, Any]:
    (path,) = out.glob("*.json")
    report: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return report


LABEL = label_pages([["Side A"]])


@pytest.mark.parametrize("stored", [True, False])
@pytest.mark.parametrize("way", ["named", "in a folder"])
def test_every_file_of_an_archive_is_checked(tmp_path: Path, stored: bool, way: str) -> None:
    sent = tmp_path / "sent"
    sent.mkdir()
    small = label_pdf(tmp_path / "small.pdf", bleed=0.0).read_bytes()
    path = zipped(
        sent / "labels.pdf", {"label-a.pdf": LABEL, "b/label-b.pdf": small}, stored=stored
    )
    result = run("check", path if way == "named" else sent, "--out", tmp_path / "out")
    report = report_of(tmp_path / "out")
    assert [part["file"] for part in report["parts"]] == [
        "labels.pdf/label-a.pdf", "labels.pdf/b/label-b.pdf",
    ]  # fmt: skip
    assert report["parts"][1]["verdict"] == "stop"
    assert result.exit_code == ExitCode.STOP


@pytest.mark.parametrize("fault", ["locked", "link", "rar", "text called pdf", "damaged"])
def test_what_cannot_be_taken_out_is_never_passed_over(tmp_path: Path, fault: str) -> None:
    path = tmp_path / "a.zip"
    if fault == "locked":
        path.write_bytes(marked_locked(zip_bytes({"label-b.pdf": LABEL})))
    elif fault == "link":
        with_link(path, "label-b.pdf", "label-a.pdf", {})
    elif fault == "rar":
        zipped(path, {"label-b.rar": b"Rar!\x1a\7\0" + bytes(40) + LABEL})
    elif fault == "text called pdf":
        zipped(path, {"label-b.pdf": b"see our cloud drive"})
    else:
        data = zip_bytes({"label-b.pdf": LABEL})
        path.write_bytes(data[: len(data) // 2])
    other = tmp_path / "label-a.pdf"
    other.write_bytes(LABEL)
    result = run("check", other, path, "--out", tmp_path / "out")
    report = report_of(tmp_path / "out")
    assert [part["verdict"] for part in report["parts"]][-1] == "stop"
    assert report["parts"][-1]["file"].startswith("a.zip")
    assert result.exit_code == ExitCode.STOP


def test_an_order_in_an_archive_is_the_order(tmp_path: Path) -> None:
    source = tmp_path / "source"
    source.mkdir()
    order = two_labels(source)
    files = {f"P-0417/{p.name}": p.read_bytes() for p in (order, *source.glob("*.pdf"))}
    result = run("check", zipped(tmp_path / "a.zip", files), "--out", tmp_path / "out")
    assert result.exit_code == ExitCode.CLEAR, result.output
    assert report_of(tmp_path / "out")["order"]["number"] == "P-0417"


A, B = (label_pages([side_lines(side)]) for side in "AB")


@pytest.mark.parametrize(
    ("files", "named", "found"),
    [
        ({"final.pdf": A, "read me.txt": b"Dear plant, ..."}, "A", {"A": "final.pdf"}),
        ({"x.pdf": A, "y.pdf": B}, "AB", {"A": "x.pdf", "B": "y.pdf"}),
        ({"x.pdf": A, "y.pdf": B}, "A", {"A": "x.pdf"}),
        ({"labels.pdf": label_pages([side_lines("A"), side_lines("B")])}, "AB",
         {"A": "labels.pdf", "B": "labels.pdf"}),
    ],
    ids=["one file", "a file a part", "a file too many", "a page a part"],
)  # fmt: skip
def test_an_archive_that_an_order_names_for_a_part_is_opened(
    tmp_path: Path, files: dict[str, bytes], named: str, found: dict[str, str]
) -> None:
    archive = zipped(tmp_path / "labels.zip", files)
    (tmp_path / "b.pdf").write_bytes(B)
    order = order_of(tmp_path, "AB", files={"B": "b.pdf", **dict.fromkeys(named, "labels.zip")})
    before = archive.read_bytes()
    run("check", order, "--out", tmp_path / "out", "--letter", tmp_path / "letter.txt")
    parts = {part["side"]: part for part in report_of(tmp_path / "out")["parts"]}
    assert {s: parts[s]["file"] for s in found} == {
        side: f"labels.zip/{name}" for side, name in found.items()
    }
    assert not {f["check"] for part in parts.values() for f in part["findings"]} & {
        "file.unreadable", "order.missing-part",
    }  # fmt: skip
    assert archive.read_bytes() == before


@pytest.mark.parametrize(
    ("files", "verdict", "said"),
    [
        ({"x.pdf": label_pages([["Owls"]]), "y.pdf": label_pages([["Elms"]])}, "query",
         "Please tell us which of labels.zip/x.pdf or labels.zip/y.pdf is Label A"),
        ({"a.txt": b"Dear plant"}, "stop", "there is no artwork in it"),
        ({"a.rar": b"Rar!\x1a\7\0" + bytes(40)}, "stop", "archive"),
    ],
    ids=["which", "no art", "another archive"],
)  # fmt: skip
def test_an_archive_in_which_the_part_is_not_plainly_there_is_asked_about(
    tmp_path: Path, files: dict[str, bytes], verdict: str, said: str
) -> None:
    zipped(tmp_path / "labels.zip", files)
    (tmp_path / "b.pdf").write_bytes(B)
    order = order_of(tmp_path, "AB", files={"A": "labels.zip", "B": "b.pdf"})
    run("check", order, "--out", tmp_path / "out", "--letter", tmp_path / "letter.txt")
    report = report_of(tmp_path / "out")
    assert report["parts"][0]["verdict"] == verdict
    letter = " ".join((tmp_path / "letter.txt").read_text(encoding="utf-8").split())
    assert said in letter


def first_round(tmp_path: Path, *, keep: bool) -> tuple[Path, Path]:
    """Check an order whose label B has no bleed; return order and report. Without `keep` the files
    of that round are gone when it is over."""
    folder = tmp_path / "order"
    folder.mkdir()
    (folder / "a.pdf").write_bytes(label_pages([side_lines("A")]))
    (folder / "b.pdf").write_bytes(label_pages([side_lines("B")], bleed=0.0))
    order = order_of(folder, "AB", files={"A": "a.pdf", "B": "b.pdf"})
    report = tmp_path / "first.json"
    result = run("check", order, "--json", report, "--out", tmp_path / "one", "--quiet")
    assert result.exit_code == ExitCode.STOP, result.output
    if not keep:
        (folder / "a.pdf").unlink()
        (folder / "b.pdf").unlink()
    return order, report


@pytest.mark.parametrize("keep", [True, False], ids=["files kept", "files gone"])
@pytest.mark.parametrize("name", ["b.pdf", "Label neu.pdf"])
def test_a_second_round_is_merged_onto_the_first(tmp_path: Path, keep: bool, name: str) -> None:
    order, report = first_round(tmp_path, keep=keep)
    sent = tmp_path / "sent"
    sent.mkdir()
    (sent / name).write_bytes(label_pages([side_lines("B")]))
    out, letter = tmp_path / "two", tmp_path / "letter.txt"
    args = ("check", sent, "--order", order, "--after", report, "--out", out, "--letter", letter)
    result = run(*args)
    second = report_of(out)
    first = json.loads(report.read_text(encoding="utf-8"))
    assert [part["name"] for part in second["parts"]] == ["Label A", "Label B"]
    assert second["parts"][0]["verdict"] == first["parts"][0]["verdict"]
    assert second["parts"][0]["sha256"] == first["parts"][0]["sha256"]
    assert second["parts"][1]["file"] == name
    cured = {f["check"] for f in first["parts"][1]["findings"]} - {
        f["check"] for f in second["parts"][1]["findings"]
    }
    assert "bleed.missing" in cured or "bleed.short" in cured
    assert ("kept_from" in second["parts"][0]) is not keep
    assert "bleed" not in letter.read_text(encoding="utf-8").casefold(), result.output


def unnumbered(finding: dict[str, object]) -> dict[str, object]:
    """Return a finding without its number, which is counted anew in each round."""
    return {key: value for key, value in finding.items() if key != "number"}


def test_what_did_not_come_again_is_still_open(tmp_path: Path) -> None:
    order, report = first_round(tmp_path, keep=False)
    (tmp_path / "x.pdf").write_bytes(label_pages([side_lines("A")]))
    out, letter = tmp_path / "two", tmp_path / "letter.txt"
    result = run(
        "check", tmp_path / "x.pdf", "--order", order, "--after", report, "--out", out,
        "--letter", letter,
    )  # fmt: skip
    second = report_of(out)
    assert second["parts"][1]["verdict"] == "stop"
    assert result.exit_code == ExitCode.STOP
    first = json.loads(report.read_text(encoding="utf-8"))
    still, own = second["parts"][1], first["parts"][1]
    assert list(map(unnumbered, still["findings"])) == list(map(unnumbered, own["findings"]))
    # What concerns the order stays with the order, and counts in its part.
    before, now = (
        sorted(table["findings"][index]["code"] for index in part["order_findings"])
        for table, part in ((first, own), (second, still))
    )
    assert now == before
    assert "b.pdf" in letter.read_text(encoding="utf-8")


def test_what_was_found_between_parts_is_asked_anew_when_one_of_them_came(tmp_path: Path) -> None:
    """Side A sent twice, then the right B: that both are one art is told no more as it was."""
    folder = tmp_path / "order"
    folder.mkdir()
    for name in ("a.pdf", "b.pdf"):
        (folder / name).write_bytes(label_pages([side_lines("A")]))
    order = order_of(folder, "AB", files={"A": "a.pdf", "B": "b.pdf"})
    report, out = tmp_path / "first.json", tmp_path / "two"
    run("check", order, "--json", report, "--out", tmp_path / "one", "--quiet")
    first = json.loads(report.read_text(encoding="utf-8"))
    twice = [f for f in first["findings"] if f["check"] == "order.same-art"]
    assert [f["severity"] for f in twice] == ["stop"]
    (folder / "a.pdf").unlink()
    (folder / "b.pdf").unlink()
    (tmp_path / "b2.pdf").write_bytes(label_pages([side_lines("B")]))
    run("check", tmp_path / "b2.pdf", "--order", order, "--after", report, "--out", out, "--quiet")
    second = report_of(out)
    kept, came = second["parts"]
    (asked,) = [f for f in second["findings"] if f["check"] == "order.same-art"]
    assert asked["parts"] == ["Label A"]
    assert second["findings"].index(asked) in kept["order_findings"]
    assert asked["severity"] == "query"
    assert asked["message"].startswith(f"In the round before: {twice[0]['message']}")
    assert "Label B came again" in asked["message"]
    assert second["findings"].index(asked) not in came["order_findings"]
    # Asked a third time it is not wrapped in itself, and counts once.
    third = tmp_path / "three"
    (report,) = out.glob("*.json")
    run("check", tmp_path / "b2.pdf", "--order", order, "--after", report, "--out", third)
    (again,) = [f for f in report_of(third)["findings"] if f["check"] == "order.same-art"]
    assert again["message"].count("In the round before") == 1


def test_what_concerns_two_parts_that_are_both_gone_is_told_once(tmp_path: Path) -> None:
    folder = tmp_path / "order"
    folder.mkdir()
    for name in ("a.pdf", "b.pdf"):
        (folder / name).write_bytes(label_pages([side_lines("A")]))
    order = order_of(folder, "ABCD", files={"A": "a.pdf", "B": "b.pdf"})
    report, out = tmp_path / "first.json", tmp_path / "two"
    run("check", order, "--json", report, "--out", tmp_path / "one", "--quiet")
    (folder / "a.pdf").unlink()
    (folder / "b.pdf").unlink()
    (tmp_path / "c.pdf").write_bytes(label_pages([side_lines("C")]))
    run("check", tmp_path / "c.pdf", "--order", order, "--after", report, "--out", out, "--quiet")
    second = report_of(out)
    (same,) = [f for f in second["findings"] if f["check"] == "order.same-art"]
    assert (same["severity"], same["parts"]) == ("stop", ["Label A", "Label B"])
    assert [part["verdict"] for part in second["parts"][:2]] == ["stop", "stop"]


def test_the_same_bytes_under_another_name_are_the_same_part(tmp_path: Path) -> None:
    order, report = first_round(tmp_path, keep=True)
    sent = tmp_path / "renamed.pdf"
    shutil.copy(order.parent / "b.pdf", sent)
    out = tmp_path / "two"
    result = run("check", sent, "--order", order, "--after", report, "--out", out)
    assert "the same bytes as before" in result.stderr
    assert report_of(out)["parts"][1]["file"] == "renamed.pdf"


@pytest.mark.parametrize(
    ("lines", "trim", "said"),
    [
        (["Moon over the mill", "take two"], 100.0, "is taken as Label A: named like"),
        ([], 100.0, "is taken as Label A: named like"),
        (["Moon over the mill"], 80.0, "is taken as Label A: named like"),
        (["Side B"], 100.0, "is taken as Label B"),
        (["Sun on the weir", "take two"], 100.0, "may be Label A or Label B; say which"),
    ],
    ids=["corrected", "no type", "a wrong size", "says the other side", "the other's words"],
)
def test_a_corrected_file_keeps_its_name_unless_it_is_plainly_another_part(
    tmp_path: Path, lines: list[str], trim: float, said: str
) -> None:
    order = order_of(tmp_path, "AB", expect=False)
    first, sent = [tmp_path / "x.pdf", tmp_path / "y.pdf"], tmp_path / "sent"
    sent.mkdir()
    first[0].write_bytes(label_pages([["Moon over the mill"]]))
    first[1].write_bytes(label_pages([["Sun on the weir"]]))
    report, out = tmp_path / "first.json", tmp_path / "two"
    told = ("--as", "x.pdf=Label A", "--as", "y.pdf=Label B", "--out", tmp_path / "one")
    run("check", *first, "--order", order, "--json", report, *told, "--quiet")
    (sent / "x.pdf").write_bytes(label_pages([lines], trim=trim))
    result = run("check", sent, "--order", order, "--after", report, "--out", out)
    assert said in " ".join(result.stderr.split())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{}", "cannot be read as a report"),
        ("not json", "cannot be read as a report"),
        ('{"schema": "other/1"}', "no report of a check"),
        ('{"schema": "prepcheck-report/1", "order": {"number": "X"}, "parts": []}', "of order X"),
    ],
)
def test_reports_that_are_none(tmp_path: Path, text: str, said: str) -> None:
    order = two_labels(tmp_path)
    (tmp_path / "r.json").write_text(text, encoding="utf-8")
    result = run("check", tmp_path / "a.pdf", "--order", order, "--after", tmp_path / "r.json")
    assert result.exit_code == ExitCode.USAGE
    assert said in result.stderr
    assert "Traceback" not in result.output


def test_two_specs_that_fit_cost_that_part_alone(tmp_path: Path) -> None:
    files = [label_pdf(tmp_path / "a.pdf"), label_pdf(tmp_path / "small.pdf", 92.0)]
    result = run("check", *files, "--out", tmp_path / "out")
    report = report_of(tmp_path / "out")
    assert [part["verdict"] for part in report["parts"]] == ["clear", "query"]
    assert result.exit_code == ExitCode.QUERY
    assert "--spec PART=NAME" in result.stderr
    again = run("check", *files, "--spec", "small=label-7in-large-hole", "--out", tmp_path / "out2")
    assert again.exit_code == ExitCode.CLEAR, again.output
    assert report_of(tmp_path / "out2")["parts"][1]["spec"] == "label-7in-large-hole"
    wrong = run("check", *files, "--spec", "smal=label-7in", "--out", tmp_path / "out3")
    assert wrong.exit_code == ExitCode.USAGE
    assert "did you mean 'small'" in wrong.stderr
