"""What could not be followed on the plates is said."""

from pathlib import Path

from prepcheck.said import Clear
from tests.checks.exams import examine, findings, make_exam, plate_scene
from tests.checks.inked import from_file, ink_spec, label
from tests.factories import Pdf, Stream

CHECK = "plates.limit"


def test_limits_and_troubles() -> None:
    scene = plate_scene(limits=("a group is taken apart", "another"), troubles=("Im1 is gone",))
    found = findings(CHECK, make_exam(plates=scene))
    assert [(f.severity.value, f.message) for f in found] == [
        ("query", "Left out of the plates: Im1 is gone."),
        ("note", "A group is taken apart."),
        ("note", "Another."),
    ]
    assert all(f.page == 1 for f in found)


def test_clear() -> None:
    (said,) = examine(CHECK, make_exam())
    assert isinstance(said, Clear)


def test_a_knockout_group(tmp_path: Path) -> None:
    pdf = Pdf()
    group = {"S": "Transparency", "I": True, "K": True}
    form = Stream(b"0 0 0 1 k 0 0 9 9 re f", {"Type": "XObject", "Subtype": "Form",
                                              "BBox": [0, 0, 9, 9], "Group": group})  # fmt: skip
    pdf.page("1 0 0 1 53 70 cm /Fm Do", (106, 106), trim_mm=(3, 3, 103, 103),
             resources={"XObject": {"Fm": pdf.add(form)}})  # fmt: skip
    path = tmp_path / "group.pdf"
    path.write_bytes(pdf.bytes())
    assert [f.severity for f in findings(CHECK, from_file(path, None, ink_spec()))] == ["note"]
    assert findings(CHECK, label(tmp_path, "0 0 0 1 k 0 20 9 9 re f")) == []
