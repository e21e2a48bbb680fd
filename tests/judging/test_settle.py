"""Advice on one object agrees, whatever found fault with it; what stands elsewhere is let alone."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.judging.registry import declarations
from prepcheck.judging.settle import _ASKS, settled
from prepcheck.spec.load import load_spec

SPEC = load_spec("jacket-12in")
SPINE = Box(-1.0, -40.0, 1.0, 40.0)
PICTURE = Box(20.0, 20.0, 80.0, 60.0)
THERE = "the picture at the right"


def found(check: str, code: str, fix: str, *boxes: Box, thing: str = "", **more: Any) -> Finding:
    marks = tuple(Mark(box, subject=thing) for box in boxes)
    return Finding(
        check, Severity.STOP, f"{check} found.", fix, "made up", page=1, code=code, where=marks,
        **more,
    )  # fmt: skip


SMALL = found("text.small", "small", "Please set this type larger.", SPINE, unit="pt")
FINE = found("ink.small-type", "left-out", "Please set it larger or bolder.", SPINE, unit="pt")
TALL = found("spine.too-narrow", "type-tall", "Set it smaller.", SPINE, required=2.0, unit="mm")


def test_type_too_small_and_too_tall_for_its_spine_gets_one_remedy() -> None:
    results = settled((SMALL, FINE, TALL), SPEC)
    (fix,) = {finding.fix for finding in results}
    assert "one dark ink" in fix
    assert "no taller than 2.0 mm" in fix
    assert [finding.severity for finding in results] == [Severity.STOP] * 3


def test_where_no_type_fits_it_is_said() -> None:
    # Capitals are about 0.7 of the size: at 5 pt (1.76 mm) they take 1.2 mm.
    tight = replace(TALL, required=1.0)
    (fix,) = {finding.fix for finding in settled((SMALL, tight), SPEC)}
    assert "leave this type off" in fix
    assert "1.2 mm tall, and there is room for 1.0 mm" in fix


def test_what_stands_elsewhere_as_well_keeps_its_own_remedy_too() -> None:
    both = replace(SMALL, where=(*SMALL.where, Mark(Box(100.0, 0.0, 120.0, 3.0))))
    small, tall = settled((both, TALL), SPEC)
    assert small.fix.startswith(f"{SMALL.fix} Where both are found: please set")
    assert small.fix.endswith(tall.fix[1:])
    assert settled((small, tall), SPEC) == (small, tall)


def test_apart_nothing_is_changed() -> None:
    away = replace(SMALL, where=(Mark(Box(100.0, 0.0, 120.0, 3.0)),))
    other = replace(SMALL, page=2)
    assert settled((away, other, TALL), SPEC) == (away, other, TALL)


def test_a_picture_with_several_faults_is_asked_for_once() -> None:
    colour = found("colour.space", "space", "Convert the document.", PICTURE, thing=THERE)
    group = (
        replace(colour, limit="colour.allowed"),
        found("image.resolution", "samples", "Place a larger one.", PICTURE, thing=THERE),
        found("image.enlarged", "enlarged", "Place it as it was.", PICTURE, thing=THERE),
    )
    (fix,) = {finding.fix for finding in settled(group, SPEC)}
    assert "not enlarged in a program, converted to CMYK" in fix
    ordered = (replace(colour, required="Black"), *group[1:])
    (fix,) = {finding.fix for finding in settled(ordered, SPEC)}
    assert "not enlarged in a program, in Black" in fix, "CMYK is not what is ordered"
    assert "smaller on the page" in fix


def test_art_that_is_one_picture_is_sent_and_not_placed() -> None:
    """A client who sends a TIFF has no page to make a picture smaller on."""
    colour = found("colour.space", "space", "Convert.", PICTURE, thing=THERE)
    coarse = found("image.resolution", "samples", "Larger.", PICTURE, thing=THERE)
    group = (replace(colour, limit="colour.allowed"), coarse)
    (fix,) = {finding.fix for finding in settled(group, SPEC, one_picture=True)}
    assert "send the art in its full size, converted to CMYK" in fix
    assert not re.search("place|page", fix)


def test_type_over_a_picture_is_not_the_picture() -> None:
    line = found("colour.space", "space", "Convert.", PICTURE, thing="the line “A”")
    coarse = found("image.resolution", "samples", "Larger.", PICTURE, thing=THERE)
    inside = found("colour.space", "space", "Convert.", Box(30, 30, 50, 34), thing=THERE)
    assert settled((coarse, inside), SPEC) == (coarse, inside)
    assert settled((line, coarse), SPEC) == (line, coarse)


def test_a_barcode_with_several_faults_is_set_anew_once() -> None:
    group = (
        found("barcode.size", "module-small", "80 % or larger.", PICTURE),
        found("barcode.truncated", "height", "Or smaller.", PICTURE),
        found("barcode.contrast", "contrast", "In black.", PICTURE),
    )
    (fix,) = {finding.fix for finding in settled(group, SPEC)}
    assert fix == (
        "Please set the barcode anew from its number, at 100 %, with bars of full height, in black "
        "alone on white or a light warm ground."
    )


def test_nobody_is_asked_for_what_is_so_already() -> None:
    # Bars that are drawn are not to be drawn, nor those of the right width to be another.
    low = found("barcode.truncated", "height", "Higher.", PICTURE)
    inks = found("barcode.resolution", "inks", "In black.", PICTURE)
    coarse = found("barcode.resolution", "coarse", "Drawn.", PICTURE)
    (fix,) = {finding.fix for finding in settled((low, inks), SPEC)}
    assert "drawn" not in fix
    assert "100 %" not in fix
    (fix,) = {finding.fix for finding in settled((low, coarse), SPEC)}
    assert "as drawn bars, with bars of full height" in fix
    # A picture that has all the pixels it needs is not to be a larger one.
    colour = found(
        "colour.space", "space", "Convert.", PICTURE, thing=THERE, limit="colour.allowed"
    )
    squeezed = found("image.compression", "compressed", "Another.", PICTURE, thing=THERE)
    (fix,) = {finding.fix for finding in settled((colour, squeezed), SPEC)}
    assert not re.search("full size|larger|soft", fix)
    assert "before it was saved for the web or a messenger, converted to CMYK" in fix


def test_a_guide_in_an_ink_nobody_ordered_is_taken_out_and_not_converted() -> None:
    trim = Box(-50.0, -50.0, 50.0, 50.0)
    ring = ((-50.0, 0.0), (0.0, 50.0), (50.0, 0.0), (0.0, -50.0), (-50.0, 0.0))
    drawn = tuple(Mark(trim, path=ring) for _ in range(1))  # type: ignore[arg-type]
    guide = replace(found("guide.printing", "line", "Take it out."), where=drawn)
    ink = found("colour.inks", "beyond", "Convert it.", trim, thing="the drawn line at the top")
    assert settled((guide, ink), SPEC)[1].fix == "Take it out."
    # A ground of the same extent, or the ink on something else besides, is no guide.
    ground = found("colour.inks", "beyond", "Convert it.", trim)
    besides = replace(ink, where=(*ink.where, Mark(PICTURE, subject=THERE)))
    assert settled((guide, ground, besides), SPEC)[1:] == (ground, besides)


def test_a_hole_outlined_by_a_guide_goes_with_the_guide() -> None:
    hole = Box(-3.6, -3.6, 3.6, 3.6)
    guide = found("guide.printing", "line", "Take it out.", hole)
    outlined = found("hole.drawn", "drawn", "Let the ground run.", hole, thing="the drawn line")
    filled = found("hole.drawn", "drawn", "Let the ground run.", hole, thing="the shape")
    assert settled((guide, outlined), SPEC)[1].fix == "Take it out."
    assert settled((guide, filled), SPEC)[1] == filled


@pytest.mark.parametrize("known", sorted(_ASKS))
def test_rules_name_checks_and_codes_that_there_are(known: tuple[str, str]) -> None:
    check, code = known
    assert check in declarations()
    assert not code or code in declarations()[check].codes
