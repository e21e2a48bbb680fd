"""The barcode that an order asks for: looked for on all its parts together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from prepcheck.checks.barcode_unreadable import examine_order
from prepcheck.findings import Finding, Severity, Status
from prepcheck.sheets.order_exam import Piece
from tests.checks.orders import digest, exam, found, piece, status

CHECK = "barcode.unreadable"
EAN = "9521234567899"


def part(
    name: str, spec: str, reads: str | None = None, *, face: str | None = None, pages: int = 1
) -> Piece:
    made = piece(name, digest(), spec=spec, face=face)
    measured = {**made.result.measured, "barcode": reads}
    return replace(made, result=replace(made.result, measured=measured, pages=pages))


def label(side: str) -> Piece:
    made = part(f"Label {side}", "label-12in")
    return replace(made, part=made.part.replaced(side=side))


JACKET, STICKER = part("Jacket", "jacket-12in"), part("Sticker", "sticker-round-50mm")
BAG = part("Inner bag", "inner-12in")


def test_none_on_any_part_stops_the_order_once() -> None:
    (finding,) = found(CHECK, label("A"), label("B"), BAG, JACKET, barcode=EAN)
    assert finding.severity is Severity.STOP
    assert (finding.measured, finding.required) == ("none", EAN)
    assert finding.message.endswith("it belongs on Jacket.")


@pytest.mark.parametrize("carrier", ["Jacket", "Sticker", "Inner bag"])
def test_one_on_any_part_is_enough(carrier: str) -> None:
    pieces = [
        replace(one, result=replace(one.result, measured={"barcode": EAN, "inks": ("Black",)}))
        if one.name == carrier
        else one
        for one in (JACKET, STICKER, BAG)
    ]
    assert found(CHECK, *pieces, barcode=EAN) == []
    assert status(CHECK, *pieces, barcode=EAN) is Status.CLEAR


def test_labels_and_bags_alone_need_none() -> None:
    assert status(CHECK, label("A"), BAG, barcode=EAN) is Status.NOT_APPLICABLE


def test_without_a_number_nothing_is_asked() -> None:
    assert status(CHECK, JACKET) is Status.NOT_APPLICABLE


def test_the_inside_of_a_gatefold_is_no_place_for_it() -> None:
    inside = part("Gatefold inside", "gatefold-12in", face="inside")
    outside = part("Gatefold outside", "gatefold-12in", face="outside")
    assert status(CHECK, inside, barcode=EAN) is Status.NOT_APPLICABLE
    (finding,) = found(CHECK, inside, outside, barcode=EAN)
    assert finding.message.endswith("it belongs on Gatefold outside.")


def test_what_a_part_says_of_its_bars_is_not_said_again() -> None:
    own = Finding(CHECK, Severity.STOP, "Bars.", "Set them anew.", "the order", 1)
    seen = replace(JACKET, result=replace(JACKET.result, findings=(own,)))
    assert status(CHECK, seen, barcode=EAN) is Status.NOT_APPLICABLE


def test_a_part_that_could_not_be_looked_at_may_carry_it() -> None:
    unseen = part("Sticker", "sticker-round-50mm", pages=0)
    (finding,) = found(CHECK, JACKET, unseen, barcode=EAN)
    assert finding.severity is Severity.QUERY
    assert "on the parts looked at" in finding.message
    assert status(CHECK, part("Jacket", "jacket-12in", pages=0), barcode=EAN) is (
        Status.NOT_APPLICABLE
    )


def test_where_only_some_parts_are_looked_at_it_may_be_on_another() -> None:
    whole = exam(JACKET, STICKER, barcode=EAN)
    said = list(examine_order(replace(whole, pieces=(JACKET,))))
    assert [one.severity for one in said if isinstance(one, Finding)] == [Severity.QUERY]
