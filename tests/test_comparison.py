"""What became of findings: told apart by check, page and place."""

from __future__ import annotations

from dataclasses import replace

import pytest

from prepcheck.comparison import PageChanges, Shift, TurnAndScale, fate_of, page_words
from prepcheck.findings import Finding, Mark, Severity
from prepcheck.geometry import Box
from prepcheck.sheets.retyped import hardly_agree, words_changed


def finding(check: str = "bleed.short", at: tuple[float, float] | None = (0.0, 0.0), **other):
    where = () if at is None else (Mark(Box.centred(2.0, 2.0, at)),)
    made = Finding(check, Severity.STOP, "Ink reaches 1.0 mm.", "Extend it.", "x", 1, where=where)
    return replace(made, **other)


def test_cured_still_and_new() -> None:
    gone, stays, comes = finding("a.b"), finding("c.d"), finding("e.f")
    fate = fate_of([gone, stays], [stays, comes])
    assert fate.cured == (gone,)
    assert fate.still == ((stays, stays),)
    assert fate.new == (comes,)


@pytest.mark.parametrize(
    ("at", "same"), [((4.5, 0.0), True), ((5.5, 0.0), False), ((0.0, -4.9), True)]
)
def test_places_are_one_up_to_three_millimetres(at: tuple[float, float], same: bool) -> None:
    """Boxes of 2 mm: centres up to 5 mm apart leave a gap of 3 mm."""
    fate = fate_of([finding()], [finding(at=at, message="Ink reaches 1.5 mm.")])
    assert bool(fate.still) is same
    assert bool(fate.cured) is not same


def test_another_page_is_another_finding() -> None:
    fate = fate_of([finding()], [finding(page=2)])
    assert len(fate.cured) == len(fate.new) == 1


def test_eased_is_still_there() -> None:
    before, now = finding(), finding(severity=Severity.QUERY, message="Ink reaches 2.5 mm.")
    assert fate_of([before], [now]).still == ((before, now),)


def test_without_places_code_and_subject_decide() -> None:
    def of(code: str, subject: str = "", message: str = "") -> Finding:
        return finding("any.check", None, code=code, subject=subject, message=message)

    three, four = of("count", message="3 pages."), of("count", message="Of pages there are 4.")
    assert fate_of([three], [four]).still == ((three, four),)
    jacket, bag = of("reads", "Jacket", "Reads 1."), of("reads", "Inner bag", "Reads 1.")
    assert fate_of([jacket], [bag]).cured == (jacket,)
    assert fate_of([of("one", message="Same.")], [of("other", message="Same.")]).still == ()


def test_of_several_in_one_place_the_unchanged_one_is_itself() -> None:
    """Which of two changed is told by what was measured, whatever the words."""
    was = finding(code="near", measured=1.0, message="1.0 mm.")
    same = finding(code="near", measured=1.0, message="One millimetre.")
    other = finding(code="near", measured=2.0, message="1.0 mm.")
    fate = fate_of([was], [other, same])
    assert fate.still == ((was, same),)
    assert fate.new == (other,)


def test_a_report_without_codes_is_matched_by_check_page_and_place() -> None:
    before, now = finding(), finding(code="short", subject="Cyan")
    assert fate_of([before], [now]).still == ((before, now),)


def test_each_finding_is_matched_once() -> None:
    fate = fate_of([finding(), finding(at=(1.0, 0.0))], [finding()])
    assert len(fate.still) == len(fate.cured) == 1


def test_words_of_a_page() -> None:
    still = PageChanges(1, 0, 0.0, (), ())
    assert page_words(still) == "Nothing looks different."
    moved = replace(still, shift=Shift(0.15, -0.2, aligned=True))
    assert page_words(moved) == (
        "The print has shifted by 0.25 mm (x +0.15, y -0.20), which was taken out before "
        "comparing. Nothing else looks different."
    )
    turned = replace(still, turned=TurnAndScale(0.1, 0.999, aligned=True))
    assert page_words(turned) == (
        "All of the print is turned by 0.10° anticlockwise and scaled to 99.90 %, which was taken "
        "out before comparing. Nothing else looks different."
    )
    left = replace(still, turned=TurnAndScale(-0.5, 1.0, aligned=False), places=1, area_mm2=2.0)
    assert page_words(left) == (
        "All of the print is turned by 0.50° clockwise. 1 place changed, 2.0 mm² in all."
    )
    far = replace(moved, shift=Shift(3.0, 4.0, aligned=False), places=2, area_mm2=5.0, inks=("K",))
    assert page_words(far) == (
        "All of the print has moved by 5.00 mm (x +3.00, y +4.00). "
        "2 places changed, 5.0 mm² in all in K."
    )
    assert page_words(replace(still, unlike="another size")) == "Not compared: another size."


def test_what_was_not_sent_again_is_open_not_cured() -> None:
    fate = fate_of([finding()], [], sent_again=lambda _: False)
    assert (fate.cured, fate.open) == ((), (finding(),))
    assert fate_of([finding()], []).cured == (finding(),), "the twin that was sent again"


def test_findings_of_an_order_are_told_apart_by_subject_not_by_prose() -> None:
    a = finding(
        "order.text",
        None,
        page=None,
        code="not-found",
        subject="Label A",
        message="'X' is not on it.",
    )
    b = replace(a, subject="Label B")
    again = replace(a, message="'X' and 'Y' are not on it.")
    fate = fate_of([a, b], [again])
    assert fate.still == ((a, again),)
    assert fate.cured == (b,)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (["Six Men in Rain", "Side A"], ["Side A", "Six Man in Rain"], [("Men", "Man")]),
        (["Low Water"], ["Low Water", "Bonus: Owl Ledger"], [("", "Bonus: Owl Ledger")]),
        (["Wren", "Ash"], ["Ash"], [("Wren", "")]),
        (["LOW  WATER"], ["low water"], []),
        (list("HARBOUR"), list("HARBOUX"), []),
    ],
)
def test_words_that_changed(old: list[str], new: list[str], words: list[tuple[str, str]]) -> None:
    """Lines moved and set in other capitals are the same; type set letter by letter is no word."""
    assert list(words_changed(old, new)) == words


def test_hardly_a_word_in_common() -> None:
    one = ["Low Water Bearing", "Wren at the Sluice", "Side A"]
    assert hardly_agree(one, ["Seven Kilns", "Ash and Slip", "Glaze Fire", "Side A"]) is True
    assert hardly_agree(one, [*one, "Owl Ledger"]) is False
    assert hardly_agree(one, []) is None
