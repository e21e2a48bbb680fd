"""A page whose inks cannot be told apart is taken as it looks on screen."""

from pathlib import Path

import pytest

from prepcheck.errors import UnreadableError
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate import printed
from tests.factories import one_page
from tests.press.pages import page_of

BOX = Box(0, 0, 20, 20)


@pytest.mark.parametrize(
    ("fault", "why"),
    [(UnreadableError("art.pdf: its tints are in a circle"), "its tints are in a circle"),
     (KeyError("Tint"), "prepcheck itself failed (KeyError: 'Tint')")],
)  # fmt: skip
def test_the_screen_stands_in_for_plates(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception, why: str
) -> None:
    page = page_of(one_page("0 0 0 1 k 0 0 10 20 re f", (20, 20)), tmp_path)

    def fails(page: object, profile: object) -> None:
        raise fault

    monkeypatch.setattr(printed, "separation", fails)
    plates, more = printed.plates_or_screen(page, Affine.identity(), BOX, 100)
    assert more is None
    assert not plates.data.any()
    assert plates.troubles[0].endswith(why)
    view = printed.printed_view(plates)
    assert view.ink[40, 10] > 200
    assert view.ink[40, 70] == 0


def test_white_that_overprints_is_no_ink(tmp_path: Path) -> None:
    """OPM 1 (ISO 32000-2, 11.7.4.3): a zero component leaves what is below."""
    state = {"ExtGState": {"O": {"OP": True, "op": True, "OPM": 1}}}
    content = "0 0 0 1 k 0 0 20 20 re f /O gs 0 0 0 0 k 5 5 10 10 re f"
    page = page_of(one_page(content, (20, 20), resources=state), tmp_path)
    plates, more = printed.plates_or_screen(page, Affine.identity(), BOX, 100)
    assert more is not None
    assert printed.printed_view(plates).ink[40, 40] == 255
