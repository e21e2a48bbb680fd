"""The specs that prepcheck brings, against published disc and label dimensions.

JIS S8502-1973 and IEC 98:1987 figures are taken from transcribed tables:
http://www7a.biglobe.ne.jp/~yosh/jis_s8502.htm and .../standards_table.htm.
"""

import re
from pathlib import Path

import pytest

from prepcheck.outline import Disc
from prepcheck.spec.inherit import limits
from prepcheck.spec.load import load_spec, profiles_folder, resolved_toml, spec_names
from prepcheck.spec.model import Spec
from prepcheck.tables import plain

NAMES = (
    "gatefold-12in",
    "gatefold-12in-flat",
    "gatefold-7in-flat",
    "inner-10in",
    "inner-12in",
    "inner-7in",
    "insert-12in",
    "jacket-10in",
    "jacket-12in",
    "jacket-12in-2disc",
    "jacket-12in-flaps",
    "jacket-7in",
    "label-10in",
    "label-12in",
    "label-7in",
    "label-7in-large-hole",
    "obi-12in",
    "sticker-round-50mm",
    "sticker-square-50mm",
)

# JIS S8502-1973, row F: greatest label area diameter in mm.
JIS_LABEL_AREA = {"7": 93.0, "10": 102.0, "12": 102.0}
# JIS S8502-1973, row G, and IEC 98:1987: hole diameter, lower and upper limit in mm.
SMALL_HOLE = (7.24, 7.33)
LARGE_HOLE = (38.15, 38.25)
# JIS S8502-1973: the skirt round the hole must reach past this diameter in mm.
SKIRT_SMALL, SKIRT_LARGE = 10.0, 43.0


def label(name: str) -> Spec:
    spec = load_spec(name)
    assert isinstance(spec.outline_of(), Disc)
    return spec


def test_the_names_are_those_promised() -> None:
    assert spec_names() == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_every_spec_loads_under_its_own_name(name: str) -> None:
    spec = load_spec(name)
    assert spec.name == name
    assert spec.print_condition == ("uncoated-label" if "label" in name else "coated-board")


@pytest.mark.parametrize("name", [name for name in NAMES if name.startswith("label")])
def test_labels_fit_the_standard_label_area_and_hole(name: str) -> None:
    spec = label(name)
    inches = re.search(r"-(\d+)in", name)
    assert inches is not None
    box = spec.outline_of().bounds
    assert box.width + spec.outline.trim_tolerance_mm <= JIS_LABEL_AREA[inches[1]]
    assert spec.hole is not None
    low, high = LARGE_HOLE if "large" in name else SMALL_HOLE
    assert low <= spec.hole.diameter_mm <= high


@pytest.mark.parametrize("name", [name for name in NAMES if name.startswith("label")])
def test_hole_clearance_covers_the_skirt_and_the_print_error(name: str) -> None:
    spec = label(name)
    assert spec.hole is not None
    assert spec.clearance.hole is not None
    skirt = SKIRT_LARGE if "large" in name else SKIRT_SMALL
    beyond = (skirt - spec.hole.diameter_mm) / 2
    error = spec.clearance.print_to_cut_mm
    # Inclusive limits, compared at the 0.1 mm that lengths are judged to.
    assert spec.clearance.hole.least_mm == pytest.approx(beyond + error, abs=0.13)
    assert spec.clearance.hole.least_mm >= beyond + error - 1e-9
    assert spec.clearance.hole.wanted_mm == pytest.approx(beyond + 3.0, abs=0.05)


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("label-12in", (100.0, 100.0)),
        ("label-10in", (100.0, 100.0)),
        ("label-7in", (92.0, 92.0)),
        ("label-7in-large-hole", (92.0, 92.0)),
        ("jacket-12in", (633.0, 315.0)),
        ("jacket-12in-2disc", (635.0, 315.0)),
    ],
)
def test_sizes(name: str, size: tuple[float, float]) -> None:
    box = load_spec(name).outline_of().bounds
    assert (box.width, box.height) == pytest.approx(size)


# Ranges over published guides of record plants (common practice, no source).
@pytest.mark.parametrize(
    ("name", "flat_width"),
    [
        ("gatefold-12in", (625.0, 639.0)),
        ("jacket-10in", (519.0, 524.0)),
        ("jacket-7in", (367.0, 374.0)),
        ("inner-12in", (310.0, 311.2)),
        ("insert-12in", (279.4, 279.4)),
    ],
)
def test_sleeves_lie_in_the_published_range(name: str, flat_width: tuple[float, float]) -> None:
    width = load_spec(name).outline_of().bounds.width
    assert flat_width[0] - 1e-9 <= width <= flat_width[1] + 1e-9


def test_gatefold_inside_is_a_little_smaller_but_within_tolerance() -> None:
    spec = load_spec("gatefold-12in")
    assert [page.name for page in spec.pages] == ["outside", "inside"]
    outside, inside = spec.outline_of(0), spec.outline_of(1)
    shorter = outside.panels[0].box.width - inside.panels[0].box.width
    # 0.5 to 0.85 mm in published guides (common practice, no source).
    assert 0.5 <= shorter <= 0.85
    assert outside.bounds.width - inside.bounds.width <= spec.outline.trim_tolerance_mm
    assert len(outside.folds) == len(inside.folds) == 2


def test_optional_pages() -> None:
    assert [page.optional for page in load_spec("insert-12in").pages] == [False, True]


@pytest.mark.parametrize("name", NAMES)
def test_every_limit_has_a_source(name: str) -> None:
    spec = load_spec(name)
    values = plain(spec, given_only=True)
    del values["sources"]
    keys = limits(values)
    assert {"bleed.least_mm", "text.least_pt", "pages"} <= keys
    for key in keys:
        assert len(spec.source_of(key)) >= len("from memory")
    with pytest.raises(KeyError):
        spec.source_of("nothing.at_all")


def test_a_table_is_answered_for_by_what_it_holds() -> None:
    spec = load_spec("label-12in")
    both = spec.source_of("clearance.hole")
    assert spec.source_of("clearance.hole.least_mm") in both
    assert spec.source_of("clearance.hole.wanted_mm") in both


@pytest.mark.parametrize("name", NAMES)
def test_the_resolved_spec_loads_again_as_the_same(name: str, tmp_path: Path) -> None:
    spec = load_spec(name)
    path = tmp_path / "again.toml"
    path.write_text(resolved_toml(spec), encoding="utf-8")
    again = load_spec(path)
    assert again == spec.replaced(extends=None)
    assert resolved_toml(again) == resolved_toml(spec)


def test_bases_are_no_pieces() -> None:
    stems = {path.stem for path in profiles_folder().glob("*.toml")}
    assert stems - set(spec_names()) == {
        "piece", "label", "sleeve", "folded", "jacket", "sticker",
    }  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_every_spec_says_what_the_piece_is(name: str) -> None:
    kind = {"inner": "inner-bag"}.get(name.partition("-")[0], name.partition("-")[0])
    assert load_spec(name).kind == kind


def test_the_kind_is_inherited_through_any_number_of_specs(tmp_path: Path) -> None:
    (tmp_path / "plant.toml").write_text('name="plant"\ntitle="x"\nextends="jacket-12in"\n')
    (tmp_path / "ours.toml").write_text('name="ours"\ntitle="y"\nextends="plant.toml"\n')
    spec = load_spec(tmp_path / "ours.toml")
    assert spec.kind == "jacket"
    (tmp_path / "again.toml").write_text(resolved_toml(spec))
    assert load_spec(tmp_path / "again.toml").kind == "jacket"
