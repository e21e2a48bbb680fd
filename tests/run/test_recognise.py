"""Which spec a file is taken for by its size, and what is said when none or several fit."""

from pathlib import Path

import pytest

from prepcheck.art.open import open_art
from prepcheck.errors import UsageError
from prepcheck.run.recognise import recognise
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec
from tests.run.art import flat_pdf, label_pdf, tiff

SPECS = tuple(load_spec(name) for name in spec_names())


def named(
    path: Path, specs: tuple[Spec, ...] = SPECS, order_format: str | None = None
) -> tuple[str, str]:
    art = open_art(path)
    spec, how = recognise(art, art.pages[0], specs, order_format, path.name)
    return spec.name, how


def refused(path: Path, **options: object) -> str:
    with pytest.raises(UsageError) as caught:
        named(path, **options)  # type: ignore[arg-type]
    (line,) = caught.value.lines
    assert line.startswith(f"{path.name}: ")
    return line


@pytest.mark.parametrize(
    ("width", "height", "name"),
    [
        (633.0, 315.0, "jacket-12in"),
        (635.0, 315.0, "jacket-12in-2disc"),
        (636.0, 315.0, "gatefold-12in"),
        (635.0, 314.5, "gatefold-12in"),
        (315.0, 633.0, "jacket-12in"),
        (523.0, 260.0, "jacket-10in"),
        (371.0, 184.0, "jacket-7in"),
        (310.0, 310.0, "inner-12in"),
        (310.9, 309.5, "inner-12in"),
        (279.4, 279.4, "insert-12in"),
    ],
)
def test_by_the_trim_box(tmp_path: Path, width: float, height: float, name: str) -> None:
    found, how = named(flat_pdf(tmp_path / "art.pdf", width, height))
    assert found == name
    assert how == f"recognised by its size: TrimBox {width:.1f} × {height:.1f} mm"


def test_by_the_page_with_bleed_and_without(tmp_path: Path) -> None:
    path = label_pdf(tmp_path / "a.pdf", with_trim_box=False)
    found, how = named(path)
    assert found == "label-12in"
    assert how == "recognised by its size: page 106.0 × 106.0 mm with bleed"
    bare = label_pdf(tmp_path / "b.pdf", bleed=0.0, with_trim_box=False)
    assert named(bare)[1] == "recognised by its size: page 100.0 × 100.0 mm"


def test_a_trim_box_that_means_the_bleed_still_leads_to_the_piece(tmp_path: Path) -> None:
    path = label_pdf(tmp_path / "a.pdf", 106.0, bleed=0.0)
    assert named(path)[0] == "label-12in"


def test_a_picture_with_its_resolution(tmp_path: Path) -> None:
    assert named(tiff(tmp_path / "a.tif", 106.0, 100.0))[0] == "label-12in"


def test_a_picture_without_resolution_has_no_size(tmp_path: Path) -> None:
    line = refused(tiff(tmp_path / "a.tif", 106.0, None))
    assert "states no resolution" in line
    assert "--spec" in line


def test_specs_that_ask_for_the_same_are_no_doubt(tmp_path: Path) -> None:
    path = label_pdf(tmp_path / "a.pdf")
    assert named(path)[0] == "label-12in"
    assert named(path, order_format="10-inch")[0] == "label-10in"


def test_several_that_fit_alike(tmp_path: Path) -> None:
    line = refused(label_pdf(tmp_path / "a.pdf", 92.0))
    assert "fits label-7in and label-7in-large-hole alike" in line


def test_between_two_sizes(tmp_path: Path) -> None:
    line = refused(flat_pdf(tmp_path / "a.pdf", 635.5, 315.0))
    assert "fits gatefold-12in and jacket-12in-2disc alike" in line


def test_none_fits_lists_the_nearest(tmp_path: Path) -> None:
    line = refused(label_pdf(tmp_path / "a.pdf", 97.0))
    assert "97.0 × 97.0 mm fits no spec" in line
    near = ["label-10in (100.0 × 100.0 mm)", "label-12in (100.0", "label-7in (92.0"]
    places = [line.index(name) for name in near]
    assert places == sorted(places)


def test_the_order_leaves_out_other_records(tmp_path: Path) -> None:
    line = refused(label_pdf(tmp_path / "a.pdf", 92.0), order_format="12-inch")
    assert "fits no spec" in line
    assert "7in" not in line
