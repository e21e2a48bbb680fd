"""A page whose inks cannot be told apart is taken as it looks on screen."""

import re
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from prepcheck.art.pdf import page
from prepcheck.art.pdf.content import recorder
from prepcheck.errors import UnreadableError
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate import plates, printed
from prepcheck.press.separate.raster import naive_rgb
from tests.factories import one_page
from tests.press.pages import page_of

BOX = Box(0, 0, 20, 20)


def test_the_screen_stands_in_for_plates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    art = page_of(one_page("0 0 0 1 k 0 0 10 20 re f", (20, 20)), tmp_path)

    def fails(page: object, profile: object) -> None:
        raise UnreadableError("art.pdf: its tints are in a circle")

    monkeypatch.setattr(printed, "separation", fails)
    made, more = printed.plates_or_screen(art, Affine.identity(), BOX, 100)
    assert more is None
    assert not made.data.any()
    assert made.troubles[0].endswith("its tints are in a circle")
    assert not made.failed
    view = printed.printed_view(made)
    assert view.ink[40, 10] > 200
    assert view.ink[40, 70] == 0


@pytest.mark.parametrize(
    ("module", "name", "slip", "kind"),
    [
        (recorder, "_fresh", partial({}.__getitem__, "Tint"), "KeyError"),
        (page, "page_content", lambda *_: None, "TypeError"),
        (plates, "recorder_of", lambda *_: None, "AttributeError"),
    ],
)
def test_a_slip_of_ours_is_not_told_as_the_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: object, name: str, slip: object,
    kind: str,
) -> None:  # fmt: skip
    art = page_of(one_page("0 0 0 1 k 0 0 10 20 re f", (20, 20)), tmp_path)
    monkeypatch.setattr(module, name, slip)
    made, more = printed.plates_or_screen(art, Affine.identity(), BOX, 100)
    assert more is None
    assert made.troubles == ()
    assert re.fullmatch(rf"prepcheck itself failed \({kind}: .*, .*\.py:\d+\)", made.failed)


def test_black_that_overprints_a_solid_spot_shows() -> None:
    """On a label with a ground in a solid spot, type in black is looked for in the plain mix."""
    plates = np.zeros((5, 1, 3), np.uint8)
    plates[4, 0, :2] = 255
    plates[3, 0, 0] = 255
    black, spot, paper = naive_rgb(plates)[0].astype(int).tolist()
    assert black == [0, 0, 0]
    assert paper == [255, 255, 255]
    assert 50 <= spot[0] == spot[1] == spot[2] <= 100


def test_white_that_overprints_is_no_ink(tmp_path: Path) -> None:
    """OPM 1 (ISO 32000-2, 11.7.4.3): a zero component leaves what is below."""
    state = {"ExtGState": {"O": {"OP": True, "op": True, "OPM": 1}}}
    content = "0 0 0 1 k 0 0 20 20 re f /O gs 0 0 0 0 k 5 5 10 10 re f"
    art = page_of(one_page(content, (20, 20), resources=state), tmp_path)
    made, more = printed.plates_or_screen(art, Affine.identity(), BOX, 100)
    assert more is not None
    assert printed.printed_view(made).ink[40, 40] == 255


def test_spots_show_as_the_colours_they_stand_in_for(tmp_path: Path) -> None:
    """A ground and a thing in two spots are told apart; varnish, of no colour, still shows."""

    def spot(name: str, *inks: float) -> list[object]:
        tint = {"FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0], "C1": list(inks), "N": 1}
        return ["Separation", name, "DeviceCMYK", tint]

    spaces = {"A": spot("Moss", 0.3, 0.0, 0.6, 0.0), "B": spot("Rust", 0.0, 0.8, 0.9, 0.1),
              "C": spot("Varnish", 0.0, 0.0, 0.0, 0.0)}  # fmt: skip
    content = "/A cs 1 scn 0 0 10 20 re f /B cs 1 scn 10 0 10 10 re f /C cs 1 scn 10 10 10 10 re f"
    art = page_of(one_page(content, (20, 20), resources={"ColorSpace": spaces}), tmp_path)
    made, _ = printed.plates_or_screen(art, Affine.identity(), BOX, 100)
    rgb = printed.printed_view(made).rgb.astype(int)
    assert rgb[40, 20].tolist() == pytest.approx([178, 255, 102], abs=2)
    assert rgb[60, 60].tolist() == pytest.approx([230, 77, 77], abs=2)
    assert np.ptp(rgb[20, 60]) == 0
    assert 50 <= rgb[20, 60, 0] <= 100
