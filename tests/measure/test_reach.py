"""Ink reach past the trim; truth by construction: discs and boxes drawn to known sizes."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from prepcheck.geometry import Box, FloatArray, Grid
from prepcheck.measure.reach import InkReach, ShortStretch, counted, ink_reach, stretches
from prepcheck.measure.sampling import runs
from prepcheck.outline import Disc, Outline, Panel, Panels
from prepcheck.press.view import View
from tests.checks.exams import edge, ink_view

LABEL = Disc(100.0, 7.24)
WIDE = Panels((Panel("face", "face", Box(-40, -30, 40, 30)),))
STEPPED = Panels(
    (Panel("face", "face", Box(-40, -30, 40, 30)), Panel("flap", "flap", Box(-20, 30, 20, 45)))
)


def disc(radius: float, pitch: float, amount: float = 1.0, at: tuple[float, float] = (0, 0)):
    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        return amount * edge(radius - np.hypot(x - at[0], y - at[1]), pitch)

    return ink


def box_ink(box: Box, pitch: float):
    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        inside = np.minimum(np.minimum(x - box.x0, box.x1 - x), np.minimum(y - box.y0, box.y1 - y))
        return edge(inside, pitch)

    return ink


def short(view: View, outline: Outline = LABEL, wanted: float = 3.0) -> tuple[ShortStretch, ...]:
    found = ink_reach(view, outline, wanted + 2)
    return stretches(found, counted(found, wanted) & (found.reach < wanted - 0.1))


@pytest.mark.parametrize("pitch", [25.4 / 600, 0.11])
@pytest.mark.parametrize("reach", [0.0, 0.05, 1.2, 1.9, 2.0, 3.0])
@pytest.mark.parametrize("amount", [1.0, 0.5, 0.08])
def test_reach_of_a_disc_to_a_tenth_of_a_millimetre(
    pitch: float, reach: float, amount: float
) -> None:
    view = ink_view(LABEL, disc(50 + reach, pitch, amount), pitch=pitch)
    found = ink_reach(view, LABEL, 5.0)
    assert found.inked.all()
    assert found.ends.all()
    assert found.reach == pytest.approx(np.full(len(found.reach), reach), abs=0.05)


def test_ink_off_the_centre_reaches_less_on_one_side() -> None:
    pitch = 25.4 / 300
    view = ink_view(LABEL, disc(53, pitch, at=(1.4, 0)), pitch=pitch)
    found = ink_reach(view, LABEL, 5.0)
    left = int(np.argmin(found.boundary.points[:, 0]))
    assert found.reach[left] == pytest.approx(1.6, abs=0.05)
    assert found.reach.max() == pytest.approx(4.4, abs=0.05)


@pytest.mark.parametrize("turn", [0, 33.3, 345])
def test_an_arc_of_short_bleed_wherever_it_lies(turn: float) -> None:
    pitch = 25.4 / 600

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        radius, angle = np.hypot(x, y), np.degrees(np.arctan2(y, x))
        off = np.abs((angle - turn + 180) % 360 - 180)
        return np.where(off < 20, edge(51.2 - radius, pitch), edge(53 - radius, pitch))

    (arc,) = short(ink_view(LABEL, ink, pitch=pitch))
    assert arc.least_mm == pytest.approx(1.2, abs=0.05)
    assert arc.degrees == pytest.approx(40, abs=0.6)
    assert arc.length_mm == pytest.approx(np.radians(40) * 50, abs=0.5)
    middle = arc.path[len(arc.path) // 2]
    assert np.hypot(*middle) == pytest.approx(50)
    assert (np.degrees(np.arctan2(middle.y, middle.x)) - turn + 180) % 360 - 180 == pytest.approx(
        0, abs=0.5
    )


def test_bare_paper_owes_nothing() -> None:
    view = ink_view(LABEL, disc(46, 25.4 / 300), pitch=25.4 / 300)
    found = ink_reach(view, LABEL, 5.0)
    assert not found.inked.any()
    assert not counted(found, 3.0).any()


def test_a_hairline_on_the_trim_is_no_inked_edge() -> None:
    pitch = 25.4 / 600
    view = ink_view(
        LABEL, lambda x, y: edge(0.05 - np.abs(np.hypot(x, y) - 50), pitch), pitch=pitch
    )
    assert not ink_reach(view, LABEL, 5.0).inked.any()


def test_ink_below_three_percent_is_paper() -> None:
    pitch = 25.4 / 300
    for amount, inked in ((0.02, False), (0.05, True)):
        view = ink_view(LABEL, disc(53, pitch, amount), pitch=pitch)
        assert ink_reach(view, LABEL, 5.0).inked.all() == inked


def test_square_picture_of_trim_size_is_short_where_it_touches_the_disc() -> None:
    pitch = 25.4 / 300
    found = short(ink_view(LABEL, box_ink(Box.centred(100, 100), pitch), pitch=pitch))
    assert len(found) == 4
    # 50 / cos(a) - 50 < 2.9 up to a = 19.07 degrees on either side.
    for arc in found:
        assert arc.least_mm == pytest.approx(0, abs=0.05)
        assert arc.degrees == pytest.approx(38.1, abs=1.0)


@pytest.mark.parametrize("angle", [0, 20, 45, 70])
def test_a_band_that_runs_across_the_trim_is_not_short(angle: float) -> None:
    pitch = 25.4 / 300
    cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        return edge(6 - np.abs(y * cos - x * sin - 35), pitch)

    assert short(ink_view(LABEL, ink, pitch=pitch)) == ()


def test_a_band_that_stops_at_the_trim_is_short() -> None:
    pitch = 25.4 / 300

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        return np.minimum(edge(6 - np.abs(y), pitch), edge(50 - np.hypot(x, y), pitch))

    found = short(ink_view(LABEL, ink, pitch=pitch))
    assert len(found) == 2
    assert found[0].length_mm == pytest.approx(2 * 50 * np.arcsin(6 / 50), abs=0.6)


@pytest.mark.parametrize("radius", [1.0, 2.0, 3.0])
def test_dots_of_a_pattern_that_meet_the_trim_are_not_short(radius: float) -> None:
    pitch, step = 25.4 / 300, 3 * radius

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        from_dot = np.hypot(*((v + step / 2) % step - step / 2 for v in (x, y)))
        return edge(radius - from_dot, pitch)

    assert short(ink_view(LABEL, ink, pitch=pitch)) == ()


@pytest.mark.parametrize("width", [2.0, 4.0, 7.5])
@pytest.mark.parametrize("reach", [0.0, 1.0])
def test_small_bars_with_straight_ends_are_short(width: float, reach: float) -> None:
    pitch = 25.4 / 300

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        return np.minimum(edge(width / 2 - np.abs(y), pitch), edge(50 + reach - np.abs(x), pitch))

    found = short(ink_view(LABEL, ink, pitch=pitch))
    assert [stretch.least_mm for stretch in found] == pytest.approx([reach] * 2, abs=0.1)


def test_ink_that_fades_away_is_not_short() -> None:
    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        return np.clip((51.5 - np.hypot(x, y)) / 8, 0, 1)

    assert short(ink_view(LABEL, ink, pitch=25.4 / 300)) == ()


def test_specks_and_grain_are_not_short(rng: np.random.Generator) -> None:
    pitch = 25.4 / 300
    shape = ink_view(LABEL, disc(53, pitch), pitch=pitch)
    grain = shape.ink.copy()
    grain[rng.random(grain.shape) < 0.02] = 0
    view = View(grain, 255 - grain, shape.rgb, shape.grid)
    assert short(view) == ()


def test_a_soft_photograph_with_blown_lights_is_not_short(rng: np.random.Generator) -> None:
    pitch = 25.4 / 300
    coarse = rng.random((60, 60))

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        u, v = (x + 60) / 2.1, (y + 60) / 2.1
        i, j = np.floor(v).astype(int), np.floor(u).astype(int)
        a, b = v - i, u - j
        low = coarse[i % 60, j % 60] * (1 - b) + coarse[i % 60, (j + 1) % 60] * b
        high = coarse[(i + 1) % 60, j % 60] * (1 - b) + coarse[(i + 1) % 60, (j + 1) % 60] * b
        photo = np.clip((low * (1 - a) + high * a - 0.3) * 1.6, 0, 1)
        return photo * edge(53 - np.hypot(x, y), pitch)

    view = ink_view(LABEL, ink, pitch=pitch)
    assert 0.5 < ink_reach(view, LABEL, 5).inked_share < 0.99
    assert short(view) == ()


@pytest.mark.parametrize("outline", [WIDE, STEPPED], ids=["box", "stepped"])
def test_sleeve_with_full_bleed_has_no_shortage_at_its_corners(outline: Outline) -> None:
    pitch = 0.11

    def ink(x: FloatArray, y: FloatArray) -> FloatArray:
        points = np.stack(np.broadcast_arrays(x, y), axis=-1)
        boxes = [part.box.grown(3) for part in outline.panels]
        inside = [
            np.minimum(
                np.minimum(points[..., 0] - b.x0, b.x1 - points[..., 0]),
                np.minimum(points[..., 1] - b.y0, b.y1 - points[..., 1]),
            )
            for b in boxes
        ]
        return edge(np.maximum.reduce(inside), pitch)

    view = ink_view(outline, ink, pitch=pitch)
    assert short(view, outline) == ()
    found = ink_reach(view, outline, 5.0)
    assert found.inked.all()
    assert found.reach.min() == pytest.approx(3.0, abs=0.05)


def test_sleeve_short_on_one_side() -> None:
    pitch = 0.11
    view = ink_view(WIDE, box_ink(Box(-43, -33, 41.5, 33), pitch), pitch=pitch)
    (side,) = short(view, WIDE)
    assert side.least_mm == pytest.approx(1.5, abs=0.05)
    assert side.length_mm == pytest.approx(60, abs=0.3)
    assert side.degrees == 0
    assert {x for x, _ in side.path} == {40.0}


def test_reach_beyond_the_view_ends_with_it() -> None:
    view = ink_view(LABEL, lambda x, y: np.ones(np.broadcast(x, y).shape), margin=2.0)
    found: InkReach = ink_reach(view, LABEL, 5.0)
    assert found.reach.min() == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize(
    ("mask", "join", "least", "spans"),
    [
        ("..xx..xx..", 0, 1, [(2, 3), (6, 7)]),
        ("..xx..xx..", 2, 1, [(2, 7)]),
        ("x..xx....x", 0, 1, [(3, 4), (9, 10)]),
        ("x..xx....x", 2, 1, [(9, 14)]),
        ("..x..xx...", 0, 2, [(5, 6)]),
        ("xxxx", 0, 1, [(0, 3)]),
        ("....", 5, 1, []),
        ("x.........", 3, 1, [(0, 0)]),
    ],
)
def test_runs_on_a_loop(mask: str, join: int, least: int, spans: list[tuple[int, int]]) -> None:
    found = runs(np.array([c == "x" for c in mask]), join=join, least=least)
    assert sorted((run.first, run.last) for run in found) == spans


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20)


def compressed(share: FloatArray, quality: int, pitch: float) -> View:
    """Return what Pillow leaves of inks laid down in such shares (n, n), compressed with colours
    at half the resolution; two pixels to a sample."""
    ink = share[:, :, None] * (0.9, 0.6, 0.5)
    held = io.BytesIO()
    picture = Image.fromarray((255 - 255 * ink).round().astype(np.uint8))
    picture.save(held, "JPEG", quality=quality, subsampling=2)
    wide = 2 * picture.width
    shown = Image.open(held).convert("RGB").resize((wide, wide), Image.Resampling.NEAREST)
    rgb, half = np.asarray(shown), wide * pitch / 2
    return View(255 - rgb.min(axis=2), rgb.mean(axis=2).astype(np.uint8), rgb,
                Grid(wide, wide, pitch, -half, half))  # fmt: skip


@pytest.mark.parametrize("quality", [50, 85])
@pytest.mark.parametrize("reach", [0.0, 1.2])
def test_the_halo_that_compression_leaves_outside_an_edge_is_no_bleed(
    quality: int, reach: float
) -> None:
    side, pitch = 1300, 25.4 / 600
    x, y = np.meshgrid(*((np.arange(side) - (side - 1) / 2) * 2 * pitch,) * 2)
    view = compressed(edge(50 + reach - np.hypot(x, y), 2 * pitch), quality, pitch)
    found = ink_reach(view, LABEL, 5.0)
    assert found.ends.mean() > 0.98
    # At low quality some blocks of the halo end as hard as the ink.
    assert (np.abs(found.reach - reach) <= 0.15).mean() > 0.9
    assert sum(one.degrees for one in short(view)) > 350


@pytest.mark.parametrize("quality", [50, 85])
@pytest.mark.parametrize("width", [4.0, 12.0])
def test_compressed_ink_that_fades_owes_no_bleed(quality: int, width: float) -> None:
    side, pitch = 1300, 25.4 / 600
    x, y = np.meshgrid(*((np.arange(side) - (side - 1) / 2) * 2 * pitch,) * 2)
    view = compressed(np.clip((50.5 - np.hypot(x, y)) / width, 0, 1), quality, pitch)
    assert short(view) == ()
