"""Files that came without an order, held against each other. Truth by construction."""

from __future__ import annotations

from dataclasses import replace

import pytest

from prepcheck.findings import Finding, Severity
from prepcheck.judging.on_orders import run_loose_checks
from prepcheck.judging.registry import order_checks
from prepcheck.sheets.piece import Piece, loose_piece
from tests.checks.orders import digest, piece

ALL = ("Halden Orrery", "Salt Roads")


def loose(name: str, *texts: str, spec: str = "label-12in", bars: str = "") -> Piece:
    made = piece(name, digest(*texts, panel=""), spec=spec)
    result = replace(made.result, measured={"barcode": bars or None})
    return loose_piece(result, made.spec, made.digest)


def found(*pieces: Piece) -> list[Finding]:
    return list(run_loose_checks(pieces, order_checks()).findings)


def pair(a: str = "LFR 014", b: str = "LFR 014") -> list[Piece]:
    return [loose("a", "Side A", *ALL, a), loose("b", "Side B", *ALL, b)]


def jacket(*texts: str, bars: str = "", name: str = "jacket") -> Piece:
    return loose(name, *texts, spec="jacket-12in", bars=bars)


def test_what_agrees_is_clear() -> None:
    said = run_loose_checks([*pair(), jacket(*ALL, "LFR 014")], order_checks())
    assert said.findings == ()
    assert [(o.check, o.status.value) for o in said.outcomes] == [("order.agreement", "clear")]


@pytest.mark.parametrize(
    ("pieces", "code", "named"),
    [
        ([*pair(), jacket("Halden Orrrery", "LFR 014")], "spelling", {"a", "b", "jacket"}),
        ([*pair(), jacket(*ALL, "LFR 041")], "number", {"a", "b", "jacket"}),
        ([*pair(), jacket(*ALL, "LFR 209")], "number", {"a", "b", "jacket"}),
        (pair("LFR 014", "LFR 015"), "number", {"a", "b"}),
        (pair("LFR 014-B", "LFR 014-B"), "suffix", {"a"}),
        (
            [jacket(*ALL, bars="9522014000179"), loose("obi", *ALL, bars="9522014000186",
             spec="obi-12in")],
            "barcodes",
            {"jacket", "obi"},
        ),
        ([*pair(), jacket(*ALL, "LFR 014", "9 522014 000197")], "barcode-digit", {"jacket"}),
        (
            [jacket(*ALL, bars="9522014000179"), loose("obi", "9 522041 000179",
             spec="obi-12in")],
            "barcode-text",
            {"obi"},
        ),
        (
            [loose("a", "A1 Wren", "A2 Low Water"), jacket("A1 Wren", "A2 Hollow Crown Lane")],
            "track-title",
            {"a", "jacket"},
        ),
        (
            [loose("a", "A1 Wren", "A2 Low Water"), jacket("A1 Low Water", "A2 Wren")],
            "track-order",
            {"a", "jacket"},
        ),
        (
            [loose("a", "A1 Wren", "A2 Low Water", "A3 Men of Ash"),
             jacket("A1 Wren", "A2 Low Water")],
            "track-missing",
            {"a", "jacket"},
        ),
    ],
)  # fmt: skip
def test_what_differs_is_asked_once(pieces: list[Piece], code: str, named: set[str]) -> None:
    (query,) = found(*pieces)
    assert (query.severity, query.code) == (Severity.QUERY, code)
    assert set(query.parts) == named
    assert "the order" not in query.message.removeprefix("The order of") + query.fix


@pytest.mark.parametrize(
    ("back", "code", "said"),
    [
        (("A1 Wren", "A2 Hollow Crown Lane"), "track-title",
         "A2 is 'Low Water' on a and insert, but 'Hollow Crown Lane' on jacket"),
        (("A1 Low Water", "A2 Wren"), "track-order", "A1 is 'Wren' on a and insert"),
        (("A1 Wren", "A2 Low Water"), "track-missing",
         "A3 'Men of Ash' stands on a and insert, and not on jacket"),
    ],
)  # fmt: skip
def test_lists_that_differ_are_told_once_however_many_agree(
    back: tuple[str, ...], code: str, said: str
) -> None:
    tracks = ["A1 Wren", "A2 Low Water", *(["A3 Men of Ash"] if code == "track-missing" else [])]
    pieces = [
        loose("a", *tracks), loose("insert", *tracks, spec="insert-12in"), jacket(*back),
    ]  # fmt: skip
    (query,) = found(*pieces)
    assert query.code == code
    assert said in query.message
    assert set(query.parts) == {"a", "insert", "jacket"}


def test_files_of_two_records_are_not_held_against_each_other() -> None:
    one = [*pair(), jacket(*ALL, "LFR 014", bars="9522014000179")]
    other = [
        jacket("Halden Orrery", "Salt Road", "LFR 015", bars="9522014000186", name="other"),
        loose("other a", "Side A", "Halden Orrery", "Salt Road", "LFR 015"),
    ]
    assert found(*one, *other) == []
    slip = loose("other b", "Side B", "Halden Orrrery", "Salt Road", "LFR 015")
    (query,) = found(*one, *other, slip)
    assert set(query.parts) == {"other", "other a", "other b"}


def test_an_advertisement_for_another_record_is_no_wrong_number() -> None:
    insert = loose("insert", *ALL, "Also: LFR 009", spec="insert-12in")
    assert found(*pair(), insert) == []


def test_the_number_of_a_telephone_is_no_barcode() -> None:
    for text in (
        "+49 5220 1400019",
        "9 522014 000179",
        "0 36000 29145 2",
        "call 030 522014 000197",
    ):
        assert found(*pair(), jacket(*ALL, "LFR 014", text)) == [], text


def test_one_file_alone_is_held_against_nothing() -> None:
    assert run_loose_checks(pair()[:1], order_checks()).outcomes == ()
