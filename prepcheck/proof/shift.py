"""The worst direction in which the print may lie off the cut."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from prepcheck.findings import Mark, PartResult, Severity
from prepcheck.geometry import Box, FloatArray, sample_loop
from prepcheck.outline import Outline
from prepcheck.proof.close_up_plan import centre_of, numbered, page_of
from prepcheck.spec.model import Spec


class PrintShift(NamedTuple):
    """How far the print is moved, in mm, and which way."""

    x: float
    y: float
    number: int | None
    """The finding whose place decides the direction; None where none does."""

    @property
    def way(self) -> str:
        """The direction in words, to the nearest of eight."""
        names = (
            "to the right", "up and to the right", "up", "up and to the left",
            "to the left", "down and to the left", "down", "down and to the right",
        )  # fmt: skip
        return names[round(math.degrees(math.atan2(self.y, self.x)) / 45) % 8]


UNSHIFTED = PrintShift(0.0, 0.0, None)


class _Threat(NamedTuple):
    gravity: int
    distance: float
    number: int
    x: float
    y: float


def worst_shift(result: PartResult, page: int, spec: Spec, outline: Outline) -> PrintShift:
    """Return the print-to-cut error in the direction that does most harm on a page.

    What lies too near the rim is worst off when the print moves outwards there, what lies too
    near the hole when it moves towards the hole, and an edge without enough bleed when the print
    moves away from that edge. The gravest, then nearest place decides; with none, the print
    moves to the right.
    """
    error = spec.clearance.print_to_cut_mm
    threats = list(_threats(result, page, spec, outline))
    if not threats:
        return PrintShift(error, 0.0, None)
    worst = min(threats, key=lambda threat: (-threat.gravity, threat.distance, threat.number))
    return PrintShift(error * worst.x, error * worst.y, worst.number)


def _threats(result: PartResult, page: int, spec: Spec, outline: Outline) -> Iterator[_Threat]:
    for number, finding in numbered(result):
        if finding.unit != "mm" or finding.severity is Severity.NOTE or page_of(finding) != page:
            continue
        for mark in finding.where:
            threat = _threat(mark, spec, outline)
            if threat is not None:
                distance, x, y = threat
                yield _Threat(finding.severity.weight, distance, number, x, y)


def _threat(mark: Mark, spec: Spec, outline: Outline) -> tuple[float, float, float] | None:
    """Return the distance to the cut edge and the direction of harm, None far from any edge."""
    x, y = centre_of(mark)
    length = math.hypot(x, y)
    if not length:
        return None
    points = _points(mark)
    rim = float(np.abs(outline.signed_distance(points)).min())
    round_hole = outline.hole_distance(points)
    hole = math.inf if round_hole is None else float(np.abs(round_hole).min())
    ring = spec.clearance.hole.wanted_mm if spec.clearance.hole else 0.0
    if hole <= ring and hole < rim:
        return hole, -x / length, -y / length
    if rim > spec.clearance.trim.frame_wanted_mm:
        return None
    inwards = -1.0 if len(mark.path) > 1 else 1.0
    return rim, inwards * x / length, inwards * y / length


def _points(mark: Mark) -> FloatArray:
    if len(mark.path) > 1:
        return np.array(mark.path, np.float64)
    box = mark.box if mark.box.area else mark.box.grown(0.01)
    return sample_loop(np.array(Box.around(box.corners).corners, np.float64), 0.5)
