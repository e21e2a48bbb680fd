"""Runs from order or art to result, the same path the command takes."""

from __future__ import annotations

import os
import re
import signal
from datetime import date
from functools import partial
from pathlib import Path

import pytest

import prepcheck
from prepcheck.errors import OrderError, OutputError, SpecError, UsageError
from prepcheck.findings import Severity, Status, Verdict
from prepcheck.intake.comparing import compare
from prepcheck.order import Order, load_order
from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.icc import condition_profile
from prepcheck.proof.model import Printed
from prepcheck.run.answer import Answer, Task
from prepcheck.run.events import Event, Finished, Started
from prepcheck.run.examine import examine, inspect
from prepcheck.run.gather import gather
from prepcheck.run.part import examine_part
from prepcheck.spec.load import load_spec
from tests.factories import Pdf, Raw, Stream
from tests.run.art import QUICK, label_pdf, order_toml, two_labels

DAY = date(2026, 4, 17)


def crash_on_a(task: Task) -> Answer:
    if task.name == "Label A":
        os.kill(os.getpid(), signal.SIGSEGV)
    return examine_part(task)


def stumble_on_a(task: Task) -> Answer:
    if task.name == "Label A":
        raise LookupError("no such thing")
    return examine_part(task)


def test_the_package_shows_what_it_promises() -> None:
    assert prepcheck.__all__ == ["__version__", "compare", "inspect"]
    assert prepcheck.inspect is inspect
    assert prepcheck.compare is compare
    with pytest.raises(AttributeError):
        _ = prepcheck.nothing


def test_an_order_in_its_own_order_with_events(tmp_path: Path) -> None:
    events: list[Event] = []
    result = inspect(two_labels(tmp_path), jobs=2, settings=QUICK, progress=events.append)
    assert [(part.name, part.side, part.spec) for part in result.parts] == [
        ("Label A", "A", "label-12in"),
        ("Label B", "B", "label-12in"),
    ]
    assert result.verdict is Verdict.CLEAR
    assert not result.crashed
    assert result.version == prepcheck.__version__
    assert {e.part for e in events if isinstance(e, Started)} == {"Label A", "Label B"}
    assert [e.done for e in events if isinstance(e, Finished)] == [1, 2]


def test_the_profile_in_a_file_shows_a_coated_piece(tmp_path: Path) -> None:
    def printed(spec: str, *, embedded: bool) -> Printed:
        pdf = Pdf()
        pdf.page("1 0 0 0 k 0 0 56 56 re f", (56, 56), trim_mm=(3, 3, 53, 53))
        if embedded:
            profile = condition_profile(load_condition("uncoated-label"))
            held = pdf.add(Stream(profile, {"N": 4}))
            intent = {"Type": "OutputIntent", "S": "GTS_PDFX", "DestOutputProfile": held}
            pdf.catalog["OutputIntents"] = [{**intent, "Info": Raw("(Our uncoated)")}]
        path = tmp_path / "a.pdf"
        path.write_bytes(pdf.bytes())
        task = Task("a", "a.pdf", path, (load_spec(spec),), "named", None, None, True, QUICK)
        proof = examine_part(task).proof
        assert proof is not None
        (page,) = proof.pages
        assert page.printed is not None
        return page.printed

    bare, shown = (printed("sticker-square-50mm", embedded=one) for one in (False, True))
    assert "coated board" in bare.condition
    assert shown.condition.startswith("The file's own output profile")
    assert shown.swatches[1].colour != bare.swatches[1].colour
    label = printed("label-12in", embedded=True)
    assert "label paper" in label.condition
    assert any("Our uncoated" in remark for remark in label.remarks)


def test_every_check_says_something_of_every_part(tmp_path: Path) -> None:
    (part,) = inspect(label_pdf(tmp_path / "a.pdf"), settings=QUICK).parts
    said = [outcome.check for outcome in part.outcomes]
    from prepcheck.judging.registry import declarations

    assert sorted(said) == sorted(declarations())
    assert part.trim_mm == pytest.approx((100.0, 100.0))
    assert part.trim_found_by == "TrimBox"
    assert part.pages == 1


def test_jobs_change_nothing(tmp_path: Path) -> None:
    path = two_labels(tmp_path)
    label_pdf(tmp_path / "b.pdf", bleed=1.0)
    assert inspect(path, settings=QUICK) == inspect(path, jobs=2, settings=QUICK)


def test_a_label_with_no_bleed_stops(tmp_path: Path) -> None:
    path = label_pdf(tmp_path / "a.pdf", bleed=0.0)
    result = inspect(path, spec="label-12in", settings=QUICK)
    assert result.verdict is Verdict.STOP
    assert "bleed.missing" in {finding.check for finding in result.parts[0].findings}
    assert result.parts[0].recognised_by == "named for this check"


def test_a_crash_in_one_part_is_its_finding(tmp_path: Path) -> None:
    (batch,) = gather([two_labels(tmp_path)], settings=QUICK).batches
    result = examine(batch, jobs=2, work=crash_on_a).result
    broken, sound = result.parts
    (finding,) = broken.findings
    assert (finding.check, finding.severity) == ("file.unreadable", Severity.STOP)
    assert "SIGSEGV" in finding.message
    assert broken.bytes == (tmp_path / "a.pdf").stat().st_size
    assert len(broken.sha256) == 64
    assert sound.verdict is Verdict.CLEAR
    assert not result.crashed
    assert {o.check for o in broken.outcomes} == {o.check for o in sound.outcomes}


def test_a_fault_of_ours_is_said_to_be_ours(tmp_path: Path) -> None:
    (batch,) = gather([two_labels(tmp_path)], settings=QUICK).batches
    result = examine(batch, work=stumble_on_a).result
    assert result.crashed
    (outcome,) = [o for o in result.parts[0].outcomes if o.status is Status.CRASHED]
    assert outcome.check == "file.unreadable"
    assert "LookupError" in outcome.why


def slip_in_the_recorder(task: Task) -> Answer:
    from prepcheck.art.pdf.content import recorder

    recorder.Survey = partial({}.__getitem__, "Tint")
    return examine_part(task)


def test_a_slip_while_a_page_is_read_for_plates_is_ours_and_the_rest_goes_on(
    tmp_path: Path,
) -> None:
    (batch,) = gather([label_pdf(tmp_path / "a.pdf")], settings=QUICK).batches
    result = examine(batch, work=slip_in_the_recorder).result
    assert result.crashed
    (part,) = result.parts
    (outcome,) = [o for o in part.outcomes if o.status is Status.CRASHED]
    assert outcome.check == "plates.limit"
    assert re.search(r"prepcheck itself failed \(KeyError: .*\.py:\d+\)", outcome.why)
    assert "file.unreadable" not in {finding.check for finding in part.findings}
    assert part.trim_mm is not None


@pytest.mark.parametrize("data", [b"", b"no art at all", b"%PDF-1.4\n%%EOF"])
def test_what_cannot_be_read_is_a_finding(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(data)
    (part,) = inspect(path, settings=QUICK).parts
    assert [finding.check for finding in part.findings] == ["file.unreadable"]
    assert (part.spec, part.pages, part.trim_mm) == (None, 0, None)
    assert part.bytes == len(data)
    assert not part.crashed
    assert inspect(path, spec="label-12in", settings=QUICK).parts[0].findings == part.findings


def test_damage_that_shows_only_to_the_checks_is_the_files(tmp_path: Path) -> None:
    pdf = Pdf()
    broken = pdf.add(Stream(b"{no ASCII85}~>", {"Filter": "ASCII85Decode"}))
    pdf.page("", (106.0, 106.0), Contents=broken)
    (tmp_path / "a.pdf").write_bytes(pdf.bytes())
    (part,) = inspect(tmp_path / "a.pdf", spec="label-12in", settings=QUICK).parts
    assert [finding.check for finding in part.findings] == ["file.unreadable"]
    assert not part.crashed


def test_a_page_of_a_file_with_several(tmp_path: Path) -> None:
    label_pdf(tmp_path / "both.pdf", pages=2)
    parts = "".join(
        f'[[part]]\nname="{side}"\nside="{side}"\nfile="both.pdf"\npage={page}\n'
        for page, side in ((1, "A"), (2, "B"))
    )
    result = inspect(order_toml(tmp_path, parts), settings=QUICK)
    assert result.verdict is Verdict.CLEAR
    assert [part.pages for part in result.parts] == [2, 2]


def test_a_page_that_is_not_there(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    path = order_toml(tmp_path, '[[part]]\nname="x"\nfile="a.pdf"\npage=3\n')
    with pytest.raises(OrderError) as caught:
        inspect(path, settings=QUICK)
    assert caught.value.lines == (f"{path}: part 'x': page 3 is asked for, but 'a.pdf' has 1 page",)


def test_pieces_that_cannot_be_recognised_are_told_together(tmp_path: Path) -> None:
    files = [label_pdf(tmp_path / f"{n}.pdf", 92.0) for n in "ab"]
    with pytest.raises(UsageError) as caught:
        inspect(files, settings=QUICK)
    assert [line.partition(":")[0] for line in caught.value.lines] == ["a.pdf", "b.pdf"]


def test_the_severity_of_an_unknown_check(tmp_path: Path) -> None:
    spec = tmp_path / "own.toml"
    spec.write_text(
        'name="own"\ntitle="x"\nextends="label-12in"\n[severity]\n"bleed.shrt"="query"\n',
        encoding="utf-8",
    )
    with pytest.raises(SpecError) as caught:
        inspect(label_pdf(tmp_path / "a.pdf"), spec=spec, settings=QUICK)
    assert caught.value.lines == (
        "spec own: severity: there is no check 'bleed.shrt'; did you mean 'bleed.short'?",
    )


def test_a_severity_set_by_the_spec_holds(tmp_path: Path) -> None:
    spec = tmp_path / "own.toml"
    spec.write_text(
        'name="own"\ntitle="x"\nextends="label-12in"\n[severity]\n"bleed.missing"="query"\n',
        encoding="utf-8",
    )
    result = inspect(label_pdf(tmp_path / "a.pdf", bleed=0.0), spec=spec, settings=QUICK)
    found = {f.check: f.severity for f in result.parts[0].findings}
    assert found["bleed.missing"] is Severity.QUERY


def test_an_order_at_hand(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    order = load_order(two_labels(tmp_path))
    assert isinstance(order, Order)
    monkeypatch.chdir(tmp_path)
    result = inspect(order, settings=QUICK)
    assert result.order is not None
    assert result.order.catalogue == "FWT 012"
    assert len(result.parts) == 2


def test_outputs_are_whole_and_repeat(tmp_path: Path) -> None:
    order = two_labels(tmp_path)
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    out = tmp_path / "out"
    for name in ("one", "two"):
        inspect(
            order,
            proof=out / f"{name}.pdf",
            report=out / f"{name}.json",
            made_on=DAY,
            settings=QUICK,
        )
    assert sorted(path.name for path in out.iterdir()) == [
        "one.json", "one.pdf", "two.json", "two.pdf",
    ]  # fmt: skip
    assert (out / "one.json").read_bytes() == (out / "two.json").read_bytes()
    assert (out / "one.pdf").read_bytes() == (out / "two.pdf").read_bytes()
    assert (out / "one.pdf").read_bytes().startswith(b"%PDF-")
    assert {path: path.read_bytes() for path in before} == before


def test_outputs_never_replace_inputs(tmp_path: Path) -> None:
    art = label_pdf(tmp_path / "a.pdf")
    with pytest.raises(UsageError, match="would be overwritten"):
        inspect(art, proof=tmp_path / "." / "a.pdf", settings=QUICK)


def test_an_output_that_cannot_be_written(tmp_path: Path) -> None:
    art = label_pdf(tmp_path / "a.pdf")
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder is wanted", encoding="utf-8")
    kept = tmp_path / "kept.json"
    with pytest.raises(OutputError) as caught:
        inspect(art, proof=blocked / "p.pdf", report=kept, made_on=DAY, settings=QUICK)
    (line,) = caught.value.lines
    assert line.startswith(f"{blocked / 'p.pdf'}: cannot be written")
    # The other output is not lost for that, and nothing is left lying about.
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.pdf", "blocked", "kept.json"]
