"""An output profile on the way from a file to reports and proof: what is told of RGB paint.

The true inks are littleCMS's (Pillow's ImageCms) of the colour in the file.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image

from prepcheck.findings import PartResult, Result, Severity
from prepcheck.proof.model import Printed
from prepcheck.report.console import console_text
from prepcheck.report.plate_table import plates_text
from prepcheck.run.answer import Task
from prepcheck.run.pair import PairTask, compare_pair
from prepcheck.run.part import examine_part
from prepcheck.run.platemaking import write_plates
from prepcheck.spec.load import load_spec
from prepcheck.spec.model import Spec
from tests.factories import Pdf, Raw, Stream
from tests.press.profiles import press_profile
from tests.press.test_conversion import by_little_cms
from tests.run.art import QUICK

RGB = (204, 51, 0)
SPEC = "sticker-square-50mm"
FILES_OWN = "the file's output profile (Our press)"


def sticker(path: Path, colour: str, profile: bytes | None) -> Path:
    """Write a sticker flooded in a colour, with an output intent where there is a profile."""
    pdf = Pdf()
    pdf.page(f"{colour} 0 0 56 56 re f", (56, 56), trim_mm=(3, 3, 53, 53))
    if profile is not None:
        held = pdf.add(Stream(profile, {"N": 4}))
        intent = {"Type": "OutputIntent", "S": "GTS_PDFX", "DestOutputProfile": held}
        pdf.catalog["OutputIntents"] = [{**intent, "Info": Raw("(Our press)")}]
    path.write_bytes(pdf.bytes())
    return path


def rgb_paint() -> str:
    return " ".join(f"{channel / 255:.6f}" for channel in RGB) + " rg"


def true_total() -> float:
    return sum(by_little_cms(press_profile(), RGB)) / 2.55


def checked(path: Path, spec: Spec | None = None) -> tuple[PartResult, Printed]:
    specs = (spec or load_spec(SPEC),)
    task = Task("a", path.name, path, specs, "named", None, None, True, QUICK)
    proof = examine_part(task).proof
    assert proof is not None
    (page,) = proof.pages
    assert page.printed is not None
    return proof.result, page.printed


def house_spec(folder: Path, profile: bytes) -> Spec:
    (folder / "house.icc").write_bytes(profile)
    (folder / "house.toml").write_text(
        'extends = "coated-board"\ntitle = "Our house"\nprofile = "house.icc"\n'
    )
    (folder / "ours.toml").write_text(
        f'extends = "{SPEC}"\nname = "ours"\ntitle = "Ours"\nprint_condition = "house.toml"\n'
        '[sources]\nprint_condition = "common practice, no source"\n'
    )
    return load_spec(folder / "ours.toml")


def by_check(result: PartResult, check: str) -> list[Severity]:
    return [finding.severity for finding in result.findings if finding.check == check]


def test_rgb_is_counted_by_the_profile_of_the_file_and_still_a_fault(tmp_path: Path) -> None:
    result, printed = checked(sticker(tmp_path / "a.pdf", rgb_paint(), press_profile()))
    assert by_check(result, "colour.space") == [Severity.STOP]
    assert printed.ink_map.greatest_percent == pytest.approx(true_total(), abs=1)
    assert printed.ink_map.unknown_mm2 == 0
    assert printed.ink_map.converted_by == FILES_OWN
    assert any(FILES_OWN in remark for remark in printed.remarks)
    (outcome,) = (one for one in result.outcomes if one.check == "ink.total")
    assert FILES_OWN in outcome.why
    assert result.measured["ink_converted_by"] == (FILES_OWN,)
    said = " ".join(console_text(Result("", None, (result,))).split())
    assert f"ink converted by {FILES_OWN}" in said


def test_rgb_is_counted_by_the_profile_that_the_spec_names(tmp_path: Path) -> None:
    spec = house_spec(tmp_path, press_profile())
    result, printed = checked(sticker(tmp_path / "a.pdf", rgb_paint(), None), spec)
    assert by_check(result, "colour.space") == [Severity.STOP]
    assert printed.ink_map.greatest_percent == pytest.approx(true_total(), abs=1)
    assert printed.ink_map.converted_by == "the output profile of the print condition (Our house)"


def test_without_a_profile_its_ink_is_not_known(tmp_path: Path) -> None:
    result, printed = checked(sticker(tmp_path / "a.pdf", rgb_paint(), None))
    assert by_check(result, "colour.space") == [Severity.STOP]
    assert printed.ink_map.greatest_percent == 0
    assert printed.ink_map.unknown_mm2 == pytest.approx(56**2, rel=0.01)
    assert printed.ink_map.converted_by == ""


def test_inks_of_the_file_are_left_alone_and_nothing_is_said(tmp_path: Path) -> None:
    result, printed = checked(sticker(tmp_path / "a.pdf", "0.4 0.2 0 0 k", press_profile()))
    assert printed.ink_map.greatest_percent == pytest.approx(60, abs=0.5)
    assert printed.ink_map.converted_by == ""
    assert not any("RGB" in remark for remark in printed.remarks)
    assert by_check(result, "colour.space") == []


def test_too_much_ink_by_the_profile_is_said_with_its_name(tmp_path: Path) -> None:
    """A spec of 100 %: the colour comes to more than that."""
    text = sticker(tmp_path / "a.pdf", rgb_paint(), press_profile())
    spec = load_spec(SPEC)
    low = spec.replaced(ink=spec.ink.replaced(most_total_percent=true_total() - 20))
    result, _ = checked(text, low)
    (said,) = (finding for finding in result.findings if finding.check == "ink.total")
    assert said.severity is Severity.STOP
    assert said.measured == pytest.approx(true_total(), abs=1)
    assert FILES_OWN in said.message


def test_the_plates_command_counts_it_so_too(tmp_path: Path) -> None:
    art = sticker(tmp_path / "a.pdf", rgb_paint(), press_profile())
    report, files = write_plates(art, out=tmp_path / "out", spec=SPEC, ppi=72)
    (page,) = report.pages
    true = by_little_cms(press_profile(), RGB)
    assert [plate.percent for plate in page.plates] == pytest.approx(
        [ink / 2.55 for ink in true], abs=0.6
    )
    assert page.not_in_inks is None
    assert page.converted_by == FILES_OWN
    assert FILES_OWN in " ".join(plates_text(report).split())
    (written,) = (file for file in files if file.suffix == ".json")
    assert json.loads(written.read_text())["pages"][0]["converted_by"] == FILES_OWN


def test_a_cmyk_picture_is_shown_by_its_own_profile(tmp_path: Path) -> None:
    samples = round(56 / 25.4 * 300)
    shown = {}
    for name, profile in (
        ("own", press_profile("uncoated-label")),
        ("none", None),
        ("damaged", b"damaged"),
    ):
        path = tmp_path / f"{name}.tif"
        picture = Image.new("CMYK", (samples, samples), (255, 0, 0, 0))
        picture.save(path, dpi=(300, 300), compression="tiff_lzw", icc_profile=profile)
        shown[name] = checked(path)[1]
    assert shown["own"].condition.startswith("The file's own output profile (Offset on uncoated")
    assert shown["own"].swatches[1].colour != shown["none"].swatches[1].colour
    assert "coated board" in shown["damaged"].condition
    assert any("The picture's profile" in remark for remark in shown["damaged"].remarks)
    assert shown["damaged"].swatches == shown["none"].swatches


def test_a_comparison_shows_each_file_by_its_own_profile(tmp_path: Path) -> None:
    old = sticker(tmp_path / "old.pdf", "1 0 0 0 k", None)
    new = sticker(tmp_path / "new.pdf", "1 0 0 0 k", press_profile("uncoated-label"))
    spec = load_spec(SPEC)
    (page,) = compare_pair(PairTask(old, new, spec, spec, settings=QUICK)).pages
    assert page.changes.same
    assert page.before is not None
    assert page.after is not None
    assert page.before.data != page.after.data
    assert "coated board" in page.shown_by[0]
    assert page.shown_by[1].startswith("The file's own output profile (Offset on uncoated")
