"""Damage in an operation is the file's and is stepped over; a slip of ours is not told as that."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest

from prepcheck.art.open import open_art
from prepcheck.art.pdf.content import shown, stream, text
from prepcheck.errors import said_by
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate import picture_copies
from prepcheck.press.separate.plates import followed, make_plates
from tests.art.pdf.walking import IN_MM, add_vera, walked
from tests.factories import Pdf, Stream, one_page
from tests.mutate.soup import FITTING, slip_in


def lettered() -> bytes:
    pdf = Pdf()
    font = add_vera(pdf)
    content = "0 0 106 106 re f BT /F1 5 Tf 40 40 Td (Side A) Tj ET"
    pdf.page(content, (106, 106), trim_mm=(3, 3, 103, 103), resources={"Font": {"F1": font}})
    return pdf.bytes()


@pytest.mark.parametrize("first", [0, 200, 1000])
def test_operands_and_resources_that_do_not_fit_are_no_slip_of_ours(
    first: int, tmp_path: Path
) -> None:
    slips = [slip_in(number, tmp_path) for number in range(first, first + 40)]
    assert [slip for slip in slips if slip] == []


@pytest.mark.parametrize("operator", FITTING)
def test_an_operator_without_its_operands_costs_nothing_else(operator: str) -> None:
    source = f"{operator} ET 10 20 30 40 re f"
    (item,) = walked(one_page(source, (50, 50), millimetres=False)).paths
    assert item.box == pytest.approx(IN_MM.box(Box(10, 20, 40, 60)))


@pytest.mark.parametrize(
    ("module", "what", "broken", "slip"),
    [
        (shown, "MM_PER_PT", 0.0, ZeroDivisionError),
        (text, "SHORT", "mm", TypeError),
        (text, "CLIPPING_MODES", None, TypeError),
        (stream, "FILLED_MODES", None, TypeError),
        (stream, "HANDLERS", {b"f": 0}, TypeError),
    ],
)
def test_a_slip_in_one_operator_is_not_told_as_damage(
    module: ModuleType,
    what: str,
    broken: object,
    slip: type[Exception],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / "a.pdf").write_bytes(lettered())
    page = open_art(tmp_path / "a.pdf").pages[0]
    assert followed(page, IN_MM)[1] is not None
    monkeypatch.setattr(module, what, broken)
    with pytest.raises(slip):
        followed(page, IN_MM)


@pytest.mark.parametrize(
    ("space", "odd"),
    [
        ("DeviceGray", {"Decode": [0]}),
        ("DeviceGray", {"BitsPerComponent": -1}),
        ("DeviceGray", {"BitsPerComponent": 3}),
        ("DeviceGray", {"Mask": [0, 3, 0]}),
        ("DeviceRGB", {"Mask": [0, 3, 0, 3, 0, 3, 0]}),
    ],
)
def test_a_picture_whose_entries_do_not_fit_is_no_slip_of_ours(
    space: str, odd: dict[str, object], tmp_path: Path
) -> None:
    pdf = Pdf()
    entries = {
        "Subtype": "Image", "Width": 4, "Height": 4, "ColorSpace": space, "BitsPerComponent": 8,
    }  # fmt: skip
    picture = pdf.add(Stream(bytes(range(48)), entries | odd))
    source = "q 9 0 0 9 5 5 cm /P Do Q 0 1 0 0 k 20 20 9 9 re f"
    pdf.page(source, (50, 50), resources={"XObject": {"P": picture}})
    (tmp_path / "a.pdf").write_bytes(pdf.bytes())
    plates = make_plates(
        open_art(tmp_path / "a.pdf").pages[0], Affine.identity(), Box(0, 0, 50, 50), 25.4
    )
    assert plates.failed == ""
    assert plates.data[1, 25, 24] == 255


def test_what_pillow_is_wrongly_asked_for_is_not_told_as_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pdf = Pdf()
    entries = {
        "Subtype": "Image", "Width": 200, "Height": 200, "ColorSpace": "DeviceCMYK",
        "BitsPerComponent": 8,
    }  # fmt: skip
    picture = pdf.add(Stream(bytes(160_000), entries))
    pdf.page("q 9 0 0 9 5 5 cm /P Do Q", (50, 50), resources={"XObject": {"P": picture}})
    (tmp_path / "a.pdf").write_bytes(pdf.bytes())
    page = open_art(tmp_path / "a.pdf").pages[0]
    asked = Affine.identity(), Box(0, 0, 50, 50), 25.4
    assert make_plates(page, *asked).troubles == ()
    averaged = picture_copies._shrunk_band
    monkeypatch.setattr(
        picture_copies, "_shrunk_band", lambda data, factor: averaged(data, -factor)
    )
    with pytest.raises(ValueError, match="scale must be > 0"):
        make_plates(page, *asked)


def test_addresses_in_memory_reach_no_report() -> None:
    loop = ValueError("Detected loop with self reference for <X object at 0x7f33a81c2b90>.\nAgain")
    assert said_by(loop) == "Detected loop with self reference for <X object>. Again"
