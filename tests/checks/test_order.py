"""Checks of the order as a whole, on digests made by hand.

What labels must say and which pieces belong together is common practice, no source; the sizes of
holes are those of IEC 98:1987.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from prepcheck.findings import Finding, Outcome, Severity, Status
from prepcheck.geometry import Box
from prepcheck.judging.check import OrderCheck
from prepcheck.judging.on_orders import less_explained, run_order_checks
from prepcheck.judging.registry import order_checks, order_declarations
from prepcheck.sheets.digest import Digest, LiveWords
from prepcheck.sheets.piece import Piece
from tests.checks.orders import digest, exam, examined, found, label, piece, status

MISSING, SAME, SWAPPED = "order.missing-part", "order.same-art", "order.swapped"
TEXT, CATALOGUE, INKS = "order.text", "order.catalogue", "order.inks"
SPEED_HOLE, AGREEMENT = "order.speed-hole", "order.agreement"
WHOLE_LABEL = ("FWT 012", "Harbour Songs", "33⅓ rpm")


def sides(letters: str) -> list:
    return [label(side, f"Side {side}", *WHOLE_LABEL) for side in letters]


def grave(*pieces, **head: object) -> list:
    """Return what is more than a note; these labels carry nothing but type, on plain paper."""
    return [f for f in examined(*pieces, **head).findings if f.severity is not Severity.NOTE]


def drawing(seed: int, *, blank: bool = False) -> np.ndarray:
    """Return a picture of a label: 60 dark squares of 2 mm on buff, at places of its own."""
    picture = np.full((400, 400, 3), (230, 220, 190), np.uint8)
    random = np.random.default_rng(seed)
    for _ in range(0 if blank else 60):
        r, c = random.integers(80, 312, 2)
        picture[r : r + 8, c : c + 8] = (30, 20, 60)
    return picture


def test_the_checks_promised_are_there() -> None:
    assert order_declarations().keys() == {
        "order.missing-part", "order.same-art", "order.swapped", "order.text", "order.catalogue",
        "order.inks", "order.speed-hole", "barcode.unreadable", "order.agreement",
    }  # fmt: skip
    for declaration in order_declarations().values():
        assert len(declaration.rationale) > 60
        assert declaration.source
        assert declaration.severities


def test_a_check_that_crashes_or_is_silent_is_told() -> None:
    (declaration,) = order_checks()[0].declarations

    def crash(exam):
        raise LookupError("no such thing")

    checks = [OrderCheck("a", (declaration,), crash), OrderCheck("b", (declaration,), iter)]
    checks[1] = OrderCheck("b", (declaration,), lambda exam: iter(()))
    said = run_order_checks(exam(*sides("AB")), checks)
    assert [o.status for o in said.outcomes] == [Status.CRASHED, Status.CRASHED]
    assert "no such thing" in said.outcomes[0].why
    assert "said nothing" in said.outcomes[1].why


def test_severities_keep_to_the_declaration() -> None:
    said = examined(
        label("A", "Side B", "45 rpm", "FWT 013", rgb=drawing(1), expect=["Salt"], printed=("X",)),
        label("B", "Side A", "Other", rgb=drawing(1), printed=("x", "Z")),
        discs=2,
    )
    assert {f.check for f in said.findings} >= {MISSING, SAME, SWAPPED, TEXT, CATALOGUE, INKS}
    allowed = order_declarations()
    assert all(f.severity in allowed[f.check].severities for f in said.findings)


class TestMissingPart:
    def test_all_there(self) -> None:
        jacket = piece("Jacket", digest("Harbour Songs", "FWT 012"), spec="jacket-12in")
        assert status(MISSING, *sides("AB"), jacket) is Status.CLEAR

    @pytest.mark.parametrize(
        ("given", "discs", "missing"),
        [
            ("A", 1, ("Label, side B",)),
            ("AB", 2, ("Label, side C", "Label, side D")),
            ("ACD", 2, ("Label, side B",)),
        ],
    )
    def test_a_side_is_missing(self, given: str, discs: int, missing: tuple[str, ...]) -> None:
        said = examined(*sides(given), discs=discs)
        (stop,) = (f for f in said.findings if f.check == MISSING and f.severity == "stop")
        assert (stop.measured, stop.required) == (len(given), 2 * discs)
        assert said.missing == missing

    def test_a_label_without_a_side_may_be_the_one(self) -> None:
        loose = piece("Label", digest("x"))
        assert not [f for f in found(MISSING, *sides("A"), loose) if f.severity == "stop"]
        said = examined(*sides("A"), loose, discs=2)
        (stop,) = (f for f in said.findings if f.severity == "stop" and f.check == MISSING)
        assert stop.measured == 2
        assert said.missing == ("Label", "Label")

    def test_no_label_at_all_is_asked(self) -> None:
        jacket = piece("Jacket", digest("Harbour Songs", "FWT 012"), spec="jacket-12in")
        (query,) = found(MISSING, jacket)
        assert query.severity is Severity.QUERY

    def test_fewer_bags_than_discs(self) -> None:
        bag = piece("Bag", digest("x"), spec="inner-12in")
        said = examined(*sides("ABCD"), bag, discs=2)
        (query,) = (f for f in said.findings if f.check == MISSING)
        assert (query.severity, query.measured, query.required) == ("query", 1, 2)
        assert said.missing == ("Inner bag",)
        assert status(MISSING, *sides("AB"), bag) is Status.CLEAR

    def test_a_face_that_came_without_the_other(self) -> None:
        one = piece("Gatefold", digest("FWT 012"), spec="gatefold-12in", face="outside")
        said = examined(*sides("ABCD"), one, discs=2)
        (stop,) = (f for f in said.findings if f.check == MISSING)
        assert (stop.severity, stop.measured, stop.required) == (
            "stop", "outside", "outside and inside",
        )  # fmt: skip
        assert len(said.missing) == 1
        other = piece("Inside", digest("x"), spec="gatefold-12in", face="inside")
        assert status(MISSING, *sides("ABCD"), one, other, discs=2) is Status.CLEAR

    def test_a_sleeve_by_a_spec_of_our_own_is_one_however_often_it_extends(
        self, tmp_path: Path
    ) -> None:
        (tmp_path / "plant.toml").write_text('name="plant"\ntitle="x"\nextends="jacket-12in"\n')
        (tmp_path / "ours.toml").write_text('name="ours"\ntitle="y"\nextends="plant.toml"\n')
        sleeve = piece("Sleeve", digest("FWT 012"), spec=str(tmp_path / "ours.toml"))
        assert status(MISSING, *sides("AB"), sleeve) is Status.CLEAR

    def test_labels_alone_are_noted(self) -> None:
        (note,) = found(MISSING, *sides("AB"))
        assert note.severity is Severity.NOTE


class TestSameArt:
    def test_different_art(self) -> None:
        pair = label("A", rgb=drawing(1)), label("B", rgb=drawing(2))
        assert status(SAME, *pair) is Status.CLEAR

    def test_the_a_label_twice(self) -> None:
        pair = label("A", rgb=drawing(1)), label("B", rgb=drawing(1))
        (stop,) = found(SAME, *pair)
        assert (stop.severity, stop.measured, stop.where) == ("stop", 100.0, ())
        assert "different files" in stop.message

    def test_one_file_under_two_names(self) -> None:
        pair = (label("A", rgb=drawing(1), sha256="1"), label("B", rgb=drawing(1), sha256="1"))
        (stop,) = found(SAME, *pair)
        assert "label-a.pdf and label-b.pdf are one file under two names" in stop.message

    def test_one_file_named_for_both_is_asked(self) -> None:
        pair = (label("A", rgb=drawing(1), file="x.pdf"), label("B", rgb=drawing(1), file="x.pdf"))
        (query,) = found(SAME, *pair)
        assert query.severity is Severity.QUERY

    def test_turned_by_a_quarter(self) -> None:
        pair = label("A", rgb=drawing(1)), label("B", rgb=np.rot90(drawing(1)).copy())
        (stop,) = found(SAME, *pair)
        assert "turned by 270°" in stop.message

    @pytest.mark.parametrize(("percent", "told"), [(98.3, True), (97.7, False)])
    def test_about_the_limit(self, percent: float, told: bool) -> None:
        """A stripe of 40,000 drawn cells, of which a known share is bare on the other label."""
        one = np.full((400, 400, 3), 255, np.uint8)
        one[100:300, 100:300] = 0
        other = one.copy()
        cells = round(40_000 * (100 - percent) / 100 / 200)
        other[100 : 100 + cells, 100:300] = 255
        # The cells next to what is still drawn are forgiven, one row on one side.
        other[100 + cells, 100:300] = 255
        pair = label("A", rgb=one), label("B", rgb=other)
        findings = found(SAME, *pair)
        if not told:
            assert findings == []
            return
        (query,) = findings
        assert query.severity is Severity.QUERY
        assert query.measured == pytest.approx(percent, abs=0.3)
        (mark,) = query.where
        assert (mark.box.x0, mark.box.x1) == (-25.0, 25.0)
        assert mark.box.y1 == 25.0

    def test_one_letter_differs(self) -> None:
        one, other = drawing(3), drawing(3)
        one[60:68, 200:202] = 0
        other[60:68, 200:208] = 0
        (query,) = found(SAME, label("A", rgb=one), label("B", rgb=other))
        assert query.severity is Severity.QUERY
        assert "1 place" in query.message

    def test_one_design_with_other_tracks_is_two_arts(self) -> None:
        one, other = drawing(3), drawing(3)
        other[60:68, 200:208] = 0
        words = [
            ("Low Water Bearing", "The Brine Ledger"),
            ("Wren at the Sluice", "Nine Tides Out"),
        ]
        own, twin = (label(s, *w, rgb=p) for s, w, p in zip("AB", words, (one, other), strict=True))
        assert found(SAME, own, twin) == []
        # With one list of tracks for both it is one art, changed a little.
        assert len(found(SAME, own, label("B", *words[0], rgb=other))) == 1

    def test_plain_labels_are_noted(self) -> None:
        pair = (label("A", rgb=drawing(1, blank=True)), label("B", rgb=drawing(2, blank=True)))
        (note,) = found(SAME, *pair)
        assert note.severity is Severity.NOTE

    def test_copies_of_other_pieces(self) -> None:
        bags = [piece(f"Bag {i}", digest("x"), spec="inner-12in", sha256="1") for i in (1, 2)]
        (query,) = found(SAME, *bags)
        assert query.severity is Severity.QUERY


class TestSwapped:
    def test_in_order(self) -> None:
        assert status(SWAPPED, *sides("AB")) is Status.CLEAR

    def test_a_carries_side_b(self) -> None:
        swapped = [label("A", "Side B", *WHOLE_LABEL), label("B", "SIDE A", *WHOLE_LABEL)]
        (stop,) = found(SWAPPED, *swapped)
        assert stop.severity is Severity.STOP
        assert (stop.measured, stop.required) == ("side B and side A", "side A and side B")
        assert stop.parts == ("Label A", "Label B")
        assert stop.fix.startswith("Please swap label-a.pdf and label-b.pdf")
        assert "'SIDE A'" in stop.message, "quoted as it stands on the label"
        assert found(TEXT, *swapped) == [], "one mistake is one finding"

    @pytest.mark.parametrize("name", ["Side Two", "SIDE 2", "Seite zwei", "Side II", "B-Side"])
    def test_a_side_by_any_name(self, name: str) -> None:
        right = [label("A", "Side One", *WHOLE_LABEL), label("B", name, *WHOLE_LABEL)]
        assert grave(*right) == [], "the sound twin"
        wrong = [label("A", name, *WHOLE_LABEL), label("B", "Side One", *WHOLE_LABEL)]
        (stop,) = grave(*wrong)
        assert (stop.check, stop.severity) == (SWAPPED, Severity.STOP)
        assert name == "B-Side" or f"'{name}'" in stop.message

    def test_the_order_may_name_a_side_in_another_way_than_the_label(self) -> None:
        pair = [
            label("A", "Side One", *WHOLE_LABEL, expect=["Side A"]),
            label("B", "Side B", *WHOLE_LABEL, expect=["side two"]),
        ]
        assert grave(*pair) == []

    def test_discs_exchanged_is_one_finding(self) -> None:
        four = [label(s, f"Side {c}", *WHOLE_LABEL) for s, c in zip("ABCD", "CDAB", strict=True)]
        findings = grave(*four, discs=2)
        assert [(f.check, f.severity) for f in findings] == [(SWAPPED, Severity.STOP)]
        assert findings[0].parts == ("Label A", "Label B", "Label C", "Label D")
        assert "label-a.pdf is side C" in findings[0].fix

    def test_sides_counted_from_a_on_each_disc(self) -> None:
        texts = {"A": "Disc 1 Side A", "B": "Disc 1 Side B", "C": "Disc 2 Side A"}
        texts["D"] = "Disc Two, Side B"
        four = [label(s, text, *WHOLE_LABEL) for s, text in texts.items()]
        assert found(SWAPPED, *four, discs=2) == []
        assert found(TEXT, *four, discs=2) == []

    def test_texts_of_labels_that_name_their_own_sides_are_exchanged(self) -> None:
        songs = {"A": "Low Water Bearing", "B": "Owl Ledger", "C": "Wren at the Sluice", "D": "Ash"}
        four = [
            label(s, f"Side {s}", *WHOLE_LABEL, songs[c], expect=[songs[s]])
            for s, c in zip("ABCD", "CBAD", strict=True)
        ]
        (stop,) = grave(*four, discs=2)
        assert (stop.code, stop.parts) == ("exchanged", ("Label A", "Label C"))
        assert "says side A, but carries the text of side C: 'Wren" in stop.message
        assert "tell us which are right" in stop.fix
        # One label alone with another's text, and its own side, lacks its own text.
        one = label("A", "Side A", *WHOLE_LABEL, songs["C"], expect=[songs["A"]])
        (stop,) = grave(one, *four[1:2], label("C", "Side C", *WHOLE_LABEL, songs["C"],
                                               expect=[songs["C"]]), four[3], discs=2)  # fmt: skip
        assert (stop.check, stop.parts) == (TEXT, ("Label A",))

    def test_only_the_name_of_the_side_is_wrong(self) -> None:
        pair = [
            label("A", "Side B", *WHOLE_LABEL, "Wren", expect=["Wren", "Side A"]),
            label("B", "Side B", *WHOLE_LABEL, "Low Water", expect=["Low Water", "Side B"]),
        ]
        (query,) = grave(*pair)
        assert (query.check, query.code, query.parts) == (SWAPPED, "side-named", ("Label A",))
        assert "Please correct the side" in query.fix

    def test_the_number_of_the_record_is_no_text_of_a_side(self) -> None:
        pair = [
            label("A", "Side B", *WHOLE_LABEL, "Wren", expect=["FWT 012", "Side A"]),
            label("B", "Side B", *WHOLE_LABEL, "Low Water", expect=["Low Water", "Side B"]),
        ]
        (query,) = [one for one in grave(*pair) if one.check == SWAPPED]
        assert (query.code, query.parts) == ("other-side", ("Label A",))

    def test_discs_that_each_count_from_a_without_saying_so_are_one_query(self) -> None:
        songs = {"A": "Wren", "B": "Low Water", "C": "Owl Ledger", "D": "Ash"}
        four = [
            label(s, f"Side {c}", *WHOLE_LABEL, songs[s], expect=[songs[s]])
            for s, c in zip("ABCD", "ABAB", strict=True)
        ]
        (query,) = grave(*four, discs=2)
        assert (query.code, query.parts) == ("side-named", ("Label C", "Label D"))
        assert query.fix.startswith("Please correct the sides to C and D, or tell us that each")

    @pytest.mark.parametrize("one_file", [True, False])
    def test_one_label_for_two_sides_is_not_told_as_missing_texts(self, one_file: bool) -> None:
        file = "labels.pdf" if one_file else None
        pair = [
            label("A", "Side A", *WHOLE_LABEL, "Wren", rgb=drawing(1), expect=["Wren"], file=file),
            label(
                "B", "Side A", *WHOLE_LABEL, "Wren", rgb=drawing(1), expect=["Low Water"], file=file
            ),
        ]
        findings = grave(*pair)
        # One mistake is one finding: that the copy says side A is told with the art.
        assert [f.check for f in findings] == [SAME]
        assert "art of Label B" in findings[0].fix
        assert "Label B says 'Side A'" in findings[0].message
        assert findings[0].severity is Severity.STOP

    def test_what_is_missing_on_top_of_an_exchange_is_found(self) -> None:
        pair = [
            label("A", "Side B", *WHOLE_LABEL, "Low Water", expect=["Wren", "Ash"]),
            label("B", "Side A", *WHOLE_LABEL, "Wren", expect=["Low Water"]),
        ]
        (stop,) = found(TEXT, *pair)
        assert (stop.parts, stop.required) == (("Label B",), "'Ash'")

    def test_a_label_that_names_both_is_not_swapped(self) -> None:
        pair = [label(s, "Side A: one. Side B: two.") for s in "AB"]
        assert found(SWAPPED, *pair) == []

    def test_by_the_texts_expected(self) -> None:
        pair = [
            label("A", "Wren at the Sluice", expect=["Low Water Bearing", "FWT 012"]),
            label("B", "Low Water Bearing", expect=["Wren at the Sluice", "FWT 012"]),
        ]
        (stop,) = found(SWAPPED, *pair)
        assert "'Wren at the Sluice'" in stop.message
        assert {f.required for f in found(TEXT, *pair) if f.severity is Severity.STOP} == {
            "'FWT 012'"
        }, "what neither carries is no matter of the exchange"

    def test_letters_behind_the_number_exchanged_on_labels_that_are_right(self) -> None:
        texts = ("Halden Orrery", "Harbour Songs")
        pair = [label("A", "Side A", *texts, "FWT 012-B"), label("B", "Side B", *texts, "FWT 012A")]
        (query,) = found(AGREEMENT, *pair)
        assert (query.code, query.parts) == ("suffix", ("Label A", "Label B"))
        assert "are exchanged" in query.message
        assert found(SWAPPED, *pair) == []

    def test_tracks_that_are_counted_as_another_sides(self) -> None:
        def pair(letter: str, *more: str) -> list:
            tracks = (f"{letter}1 Owl Ledger", f"{letter}2 A Rumour", *more)
            return [
                label("A", "Side A", *WHOLE_LABEL, "A1 Wren", "A2 Low Water"),
                label("B", "Side B", *WHOLE_LABEL, *tracks),
            ]

        (query,) = grave(*pair("A"))
        assert (query.check, query.code, query.parts) == (SWAPPED, "side-named", ("Label B",))
        assert "says 'Side B', but counts its tracks A1 and A2" in query.message
        assert len(query.where) == 2
        assert grave(*pair("B")) == []
        assert found(SWAPPED, *pair("A", "B1 Ash")) == [], "it lists the tracks of both"

    def test_a_title_that_lacks_its_last_letter_is_told_once(self) -> None:
        pair = [
            label("A", "Side A", *WHOLE_LABEL),
            label("B", "Side B", "FWT 012", "Harbour Song", "33⅓ rpm"),
        ]
        (query,) = grave(*pair)
        assert (query.check, query.parts) == (TEXT, ("Label B",))
        assert "'Harbour Song'" in query.message

    def test_by_the_letter_behind_the_number(self) -> None:
        texts = ("Halden Orrery", "Harbour Songs")
        pair = [label("A", *texts, "FWT 012-B"), label("B", *texts, "FWT 012-A")]
        (stop,) = found(SWAPPED, *pair)
        assert (stop.severity, stop.code) == (Severity.STOP, "exchanged")
        assert "'FWT 012-B'" in stop.message
        assert found(AGREEMENT, *pair) == [], "one mistake is one finding"
        twin = [label("A", *texts, "FWT 012-A"), label("B", *texts, "FWT 012-B")]
        assert found(SWAPPED, *twin) == []
        one = [label("A", *texts, "FWT 012-B"), label("B", *texts, "FWT 012-B")]
        assert found(SWAPPED, *one) == []
        assert [f.code for f in found(AGREEMENT, *one)] == ["suffix"]
        with_text = [label("A", "Wren", "FWT 012-B", expect=["Wren"]), label("B", "FWT 012-A")]
        assert found(SWAPPED, *with_text) == []

    def test_by_the_file_names(self) -> None:
        pair = [
            label("A", file="FWT012_side-B.pdf", pictures_mm2=900.0),
            label("B", file="FWT012_side-A.pdf", pictures_mm2=900.0),
        ]
        (query,) = found(SWAPPED, *pair)
        assert "FWT012_side-B.pdf as side A" in query.message

    def test_a_file_for_both_is_no_evidence(self) -> None:
        pair = [label("A", file="label-b-final.pdf"), label("B", file="labels.pdf")]
        assert found(SWAPPED, *pair) == []
        assert status(SWAPPED, *pair) is Status.NOT_APPLICABLE


class TestExchangedByEye:
    """Parts in outlines that carry what belongs on each other, as an optical reader sees it."""

    def eyed(self, one: Piece, *texts: str) -> Piece:
        page = replace(one.digest.pages[0], outlined=90, by_eye=digest(*texts).words)
        return replace(one, digest=replace(digest(), pages=(page,), reader=True))

    @pytest.mark.parametrize("kept", [{"outlined": 90}, {"pictures_mm2": 7000.0}], ids=str)
    @pytest.mark.parametrize("lost", [(), ("Low Water",)], ids=["all seen", "one not made out"])
    def test_labels_are_one_query_besides_what_was_not_made_out(
        self, lost: tuple[str, ...], kept: dict
    ) -> None:
        songs = {"A": ("Wren at the Sluice",), "B": ("Owl Ledger", "Low Water")}
        pair = []
        for side, other in ("AB", "BA"):
            one = label(side, expect=songs[side], **kept)
            seen = (f"Side {other}", *WHOLE_LABEL, *(t for t in songs[other] if t not in lost))
            page = replace(one.digest.pages[0], by_eye=digest(*seen).words)
            pair.append(replace(one, digest=replace(one.digest, pages=(page,), reader=True)))
        findings = {f.check: f for f in grave(*pair)}
        swap = findings.pop(SWAPPED)
        assert (swap.code, swap.severity) == ("exchanged", Severity.QUERY)
        assert "read by eye and may be wrong" in swap.message
        assert {mark.part for mark in swap.where} == {"Label A", "Label B"}
        assert [f.to_confirm for f in findings.values()] == ([lost] if lost else [])
        assert all(f.parts == ("Label A",) for f in findings.values())
        assert status(TEXT, *pair) is not Status.CLEAR, "nobody has read them"

    def test_faces_are_one_query(self) -> None:
        texts = {"outside": "Low Water", "inside": "Lyrics by Ash"}
        faces = [
            self.eyed(
                piece(face, digest(), spec="gatefold-12in", face=face, expect=[texts[face]]),
                texts[other], *(("FWT 012", "Harbour Songs") if other == "outside" else ()),
            )
            for face, other in (("outside", "inside"), ("inside", "outside"))
        ]  # fmt: skip
        (query,) = [f for f in grave(*sides("ABCD"), *faces, discs=2) if f.check in (SWAPPED, TEXT)]
        assert (query.code, query.severity) == ("faces-exchanged", Severity.QUERY)


class TestPanels:
    """Front and back of one flat, by what stands on them."""

    def jacket(self, bars: str, *tracks: str) -> Piece:
        words = [
            LiveWords(f"A{n} {text}", panel, Box(0.0, -9.0 * n, 20.0, 4.0 - 9.0 * n))
            for panel in tracks
            for n, text in enumerate(("Low Water", "Wren", "Old Lamp"), 1)
        ]
        page = replace(digest().pages[0], words=tuple(words), bars_on=(bars,) if bars else ())
        return piece("Jacket", Digest((page,)), spec="jacket-12in")

    def test_exchanged_is_asked(self) -> None:
        assert found(SWAPPED, *sides("AB"), self.jacket("back", "back")) == []
        assert found(SWAPPED, *sides("AB"), self.jacket("", "front")) == []
        (query,) = found(SWAPPED, *sides("AB"), self.jacket("front", "front"))
        assert (query.severity, query.code) == (Severity.QUERY, "panels-exchanged")
        assert "front and back seem to be exchanged" in query.message
        assert query.where[0].box.x0 > 0, "the front lies right of the spine"

    def test_a_barcode_alone_on_the_front_is_asked_about(self) -> None:
        (query,) = found(SWAPPED, *sides("AB"), self.jacket("front", "back"))
        assert query.code == "panels-exchanged"
        assert "exchanged" not in query.message


class TestFaces:
    """Outside and inside of a gatefold as files of their own."""

    def faces(self, first: str, second: str, **expect: list[str]) -> list:
        text = {"outside": first, "inside": second}
        return [
            piece(
                f"Gatefold {face}", digest("FWT 012", "Harbour Songs", text[face]),
                spec="gatefold-12in", face=face, expect=expect.get(face, []),
            )
            for face in ("outside", "inside")
        ]  # fmt: skip

    def about(self, *pieces) -> list:
        return [f for f in grave(*pieces, discs=2) if f.check in (SWAPPED, TEXT)]

    def test_exchanged_is_one_stop(self) -> None:
        own = {"outside": ["Low Water"], "inside": ["Lyrics by Ash"]}
        assert self.about(*sides("ABCD"), *self.faces("Low Water", "Lyrics by Ash", **own)) == []
        wrong = self.faces("Lyrics by Ash", "Low Water", **own)
        (stop,) = self.about(*sides("ABCD"), *wrong)
        assert (stop.severity, stop.code) == (Severity.STOP, "faces-exchanged")
        assert stop.parts == ("Gatefold outside", "Gatefold inside")
        assert stop.fix.startswith("Please swap gatefold-outside.pdf and gatefold-inside.pdf")
        assert [f.code for f in self.about(*wrong)] == ["faces-exchanged"], "without labels too"

    @pytest.mark.parametrize("way", ["sizes", "barcode", "spine"])
    def test_exchanged_by_what_is_no_text(self, way: str) -> None:
        """Sizes of the spec: 636.0 x 315.0 mm outside, 635.0 x 314.5 mm inside."""

        def sent(outside: str, inside: str) -> list:
            """Return the faces, each with the looks of the one named."""
            found = []
            for face, shows in (("outside", outside), ("inside", inside)):
                panel = "spine" if face == "outside" else "spine inside"
                size = (636.0, 315.0) if shows == "outside" else (635.0, 314.5)
                texts = ("Harbour Songs",) if way == "spine" and shows == "outside" else ()
                one = piece(
                    f"Gatefold {face}", digest(*texts, panel=panel), spec="gatefold-12in", face=face
                )
                code = "9521234567899" if way == "barcode" and shows == "outside" else None
                trim = size if way == "sizes" else (636.0, 315.0)
                measured = {**one.result.measured, "barcode": code}
                result = replace(
                    one.result, trim_mm=trim if way != "spine" else None, measured=measured
                )
                found.append(replace(one, result=result))
            return found

        assert found(SWAPPED, *sides("ABCD"), *sent("outside", "inside"), discs=2) == []
        both = sent("inside", "outside")
        if way == "barcode":  # of one size, the outside's: that speaks for nothing
            both = [replace(p, result=replace(p.result, trim_mm=None)) for p in both]
        (one,) = found(SWAPPED, *sides("ABCD"), *both, discs=2)
        assert one.code == "faces-exchanged"
        assert one.severity is (Severity.STOP if way == "sizes" else Severity.QUERY)
        assert one.fix.startswith("Please swap gatefold-outside.pdf and gatefold-inside.pdf")
        said = examined(*sides("ABCD"), *both, discs=2)
        assert {(e.part, e.check) for e in said.explained} >= {("Gatefold outside", "size.trim")}

    @pytest.mark.parametrize("face", ["outside", "inside"])
    def test_what_a_piece_must_say_may_stand_on_any_face(self, face: str) -> None:
        both = self.faces("Low Water", "Lyrics by Ash", **{face: ["Low Water", "Lyrics by Ash"]})
        assert self.about(*sides("ABCD"), *both) == []
        neither = self.faces("Low Water", "Nothing", **{face: ["Low Water", "Lyrics by Ash"]})
        (stop,) = self.about(*sides("ABCD"), *neither)
        assert (stop.check, stop.required) == (TEXT, "'Lyrics by Ash'")

    def test_of_two_pieces_alike_no_face_speaks_for_another(self) -> None:
        one = self.faces("Low Water", "x", outside=["Low Water"])
        other = [replace(p, part=p.part.replaced(name=f"{p.name} 2")) for p in
                 self.faces("y", "z", outside=["Low Water"])]  # fmt: skip
        assert [f.required for f in self.about(*sides("ABCD"), *one, *other)] == ["'Low Water'"]


class TestText:
    def test_found(self) -> None:
        pair = sides("AB")
        assert status(TEXT, *pair) is Status.CLEAR

    def test_what_the_order_names_is_a_stop(self) -> None:
        one = label("A", "Side A", *WHOLE_LABEL, expect=["Low Water Bearing"])
        (stop,) = found(TEXT, one, *sides("B"))
        assert (stop.severity, stop.required) == ("stop", "'Low Water Bearing'")
        assert "is not on Label A" in stop.message

    @pytest.mark.parametrize(
        ("here", "near"),
        [("Ines Holoway", "Ines Holoway"), ("Inse Holloway", "Inse Holloway"), ("Ina Hull", None)],
    )
    def test_a_misspelling_is_shown(self, here: str, near: str | None) -> None:
        one = label("A", "Side A", *WHOLE_LABEL, here, expect=["Ines Holloway"])
        (stop,) = found(TEXT, one, *sides("B"))
        assert (f"nearest to it is '{near}'" in stop.message) is (near is not None)

    def test_an_artist_spelt_wrong_is_told_by_the_spelling_alone(self) -> None:
        one, other = (
            label(s, f"Side {s}", artist, "FWT 012", "Harbour Songs")
            for s, artist in zip("AB", ("Halden Orrery", "Halden Orery"), strict=True)
        )
        (query,) = grave(one, other, title="Halden Orrery: Harbour Songs")
        assert (query.check, query.code) == (AGREEMENT, "spelling")
        gone = label("B", "Side B", "FWT 012", "Harbour Songs")
        (query,) = grave(one, gone, title="Halden Orrery: Harbour Songs")
        assert query.check == TEXT

    @pytest.mark.parametrize("sign", ["&", "+", "·"])
    def test_signs_between_words_are_kept_as_they_stand(self, sign: str) -> None:
        whole = f"All songs by Marorw {sign} Pine, Harbour Songs"
        pair = [label(s, f"Side {s}", whole, "FWT 012") for s in "AB"]
        (query,) = grave(*pair, title="Marrow & Pine: Harbour Songs")
        assert query.code == "spelling"
        assert f"'Marorw {sign} Pine'" in query.message

    def test_a_title_spelt_wrong_is_one_finding(self) -> None:
        one = label("A", "Side A", "FWT 012", "Harbuor Songs", expect=["Harbour Songs"])
        other = label("B", "Side B", "Ash", *WHOLE_LABEL)
        (stop,) = found(TEXT, one, other, title="Ash: Harbour Songs")
        assert (stop.severity, stop.required) == ("stop", "'Harbour Songs'")

    def test_what_labels_usually_say_is_a_query(self) -> None:
        (query,) = found(TEXT, label("A", "Harbour Songs"), *sides("B"))
        assert (query.severity, query.required) == ("query", "'FWT 012' and 'Side A'")

    def test_a_blank_label_is_asked_for_nothing_but_what_the_order_names(self) -> None:
        assert found(TEXT, label("A"), *sides("B")) == []
        (stop,) = found(TEXT, label("A", expect=["FWT 012"]), *sides("B"))
        assert stop.severity is Severity.STOP

    def test_an_unusual_speed_is_expected(self) -> None:
        pair = [label(s, f"Side {s}", "FWT 012", "Harbour Songs") for s in "AB"]
        assert len(found(TEXT, *pair, speed="45")) == 2
        assert found(TEXT, *pair, speed="33") == []

    @pytest.mark.parametrize(
        "kept", [{"outlined": 300}, {"pictures_mm2": 7000.0}, {"rgb": drawing(3)}]
    )
    def test_what_cannot_be_read_is_never_clear_nor_missing(self, kept: dict) -> None:
        one = label("A", expect=["Low Water Bearing"], **kept)
        (query,) = found(TEXT, one, *sides("B"))
        assert query.severity is Severity.QUERY
        assert "cannot be read" in query.message
        assert "proof" in query.fix
        assert "missing" not in query.message + query.fix
        assert query.parts == ("Label A",)
        assert query.to_confirm == ("Low Water Bearing", "FWT 012", "Harbour Songs", "Side A")
        (place,) = query.where
        assert (place.part, place.page, place.box.width) == ("Label A", 1, 100.0)

    @pytest.mark.parametrize(
        ("unnamed", "said", "unsaid"),
        [(40, "does not say which letters", "outlines"), (10, "outlines or set in a font", "pict")],
    )
    def test_type_whose_font_names_no_letters_is_not_called_outlined(
        self, unnamed: int, said: str, unsaid: str
    ) -> None:
        kept = digest(outlined=40)
        pages = (replace(kept.pages[0], unnamed=unnamed),)
        one = piece("Label A", replace(kept, pages=pages), side="A", expect=["Low Water Bearing"])
        (query,) = found(TEXT, one, *sides("B"))
        assert said in query.message
        assert unsaid not in query.message

    def test_without_the_reader_the_query_says_how_to_get_it(self) -> None:
        one = label("A", outlined=90, expect=["Wren"])
        unread = replace(one, digest=replace(one.digest, reader=False))
        (query,) = found(TEXT, unread, *sides("B"))
        assert "pip install 'prepcheck[read]'" in query.source
        assert "pip install" not in query.message + query.fix, "that is not the client's matter"

    def test_what_is_read_by_eye_stays_a_query_and_says_so(self) -> None:
        one = label("A", outlined=90, expect=["Wren at the Sluice", "Low Water"])
        words = digest("WREN AT THE SLUICE", "Side A", "FWT 012", "Harbour Songs").words
        page = replace(one.digest.pages[0], by_eye=words)
        eyed = replace(one, digest=replace(one.digest, pages=(page,), reader=True))
        (query,) = found(TEXT, eyed, *sides("B"))
        assert query.severity is Severity.QUERY
        assert "It seems to say 'Wren at the Sluice'" in query.message
        assert "'Low Water' was not made out" in query.message
        assert "read by eye, may be wrong" in query.message

    def test_a_slip_in_live_type_is_a_stop_though_other_type_is_outlined(self) -> None:
        one = label("A", "Ines Holoway", "Side A", *WHOLE_LABEL, outlined=40)
        one = replace(one, part=one.part.replaced(expect=("Ines Holloway",)))
        (stop,) = found(TEXT, one, *sides("B"))
        assert stop.severity is Severity.STOP

    def test_a_spine_in_outlines_is_asked(self) -> None:
        kept = digest("Harbour Songs", "FWT 012", panel="back")
        for shapes, asked in ((14, True), (0, False)):
            page = replace(kept.pages[0], outlined_on={"spine": shapes})
            jacket = piece("Jacket", replace(kept, pages=(page,)), spec="jacket-12in")
            findings = found(TEXT, *sides("AB"), jacket)
            assert [f.code for f in findings] == ["unread-spine"] * asked
            if asked:
                (place,) = findings[0].where
                assert place.box.width < 10 < place.box.height

    def test_a_spine_in_a_picture_is_asked(self) -> None:
        kept = digest("Harbour Songs", "FWT 012", panel="back")
        page = replace(kept.pages[0], pictured=("spine",))
        seen = digest("Harbour Songs", panel="spine").words
        for made, asked in (
            (replace(kept, pages=(page,)), True),
            (replace(kept, pages=(page,), reader=False), True),
            (replace(kept, pages=(page,), reader=True), False),  # read by eye: no type is there
            (replace(kept, pages=(replace(page, by_eye=seen),), reader=True), True),
            (kept, False),
        ):
            jacket = piece("Jacket", made, spec="jacket-12in")
            findings = found(TEXT, *sides("AB"), jacket)
            assert [f.code for f in findings] == ["unread-spine"] * asked
            if asked:
                assert findings[0].to_confirm == ("Harbour Songs", "FWT 012")
                assert "part of a picture" in findings[0].message

    def test_part_in_outlines_is_asked(self) -> None:
        one = label("A", "Stereo", outlined=40, expect=["Low Water Bearing"])
        (query,) = found(TEXT, one, *sides("B"))
        assert query.severity is Severity.QUERY
        assert "look at the proof" in query.fix

    @pytest.mark.parametrize(
        ("seen", "severity"),
        [
            (None, Severity.NOTE),
            ((), Severity.NOTE),
            (("FWT 012", "Side A", "Harbour Songs"), Severity.NOTE),
            (("Low Water", "Wren"), Severity.QUERY),
        ],
    )
    def test_that_nobody_has_read_a_picture_of_a_label_is_said_though_nothing_is_named_for_it(
        self, seen: tuple[str, ...] | None, severity: Severity
    ) -> None:
        one = label("A", pictures_mm2=7000.0)
        if seen is not None:
            page = replace(one.digest.pages[0], by_eye=digest(*seen).words)
            one = replace(one, digest=replace(one.digest, pages=(page,), reader=True))
        (said,) = found(TEXT, one, *sides("B"))
        assert said.severity is severity
        assert said.to_confirm == ("FWT 012", "Harbour Songs", "Side A")
        assert "Such a part usually says" in said.message

    def test_a_label_in_outlines_is_looked_at_though_nothing_is_named_for_it(self) -> None:
        (query,) = found(TEXT, label("A", outlined=40), *sides("B"))
        assert query.parts == ("Label A",)
        assert query.to_confirm == ("FWT 012", "Harbour Songs", "Side A")


class TestCatalogue:
    def test_a_number_does_not_swallow_the_track_number_behind_it(self) -> None:
        (stop,) = found(CATALOGUE, label("A", "FWT 013", "1. Low Water"), *sides("B"))
        assert stop.measured == "FWT 013"

    def test_a_wrong_number_is_one_finding(self) -> None:
        pair = [label(s, f"Side {s}", "FWT 013", "Harbour Songs") for s in "AB"]
        findings = grave(*pair)
        assert [(f.check, f.parts) for f in findings] == [(CATALOGUE, ("Label A", "Label B"))]

    def test_the_places_are_those_of_outlined_type_where_that_is_all_that_hides_a_text(
        self,
    ) -> None:
        kept = digest("Stereo", outlined=40)
        at = Box(-10.0, 20.0, 10.0, 23.0)
        pages = (replace(kept.pages[0], outlined_at=(at,)),)
        one = piece("Label A", replace(kept, pages=pages), side="A", expect=["Low Water Bearing"])
        (query,) = found(TEXT, one)
        assert [(m.box, m.label) for m in query.where] == [(at, "outlined type stands here")]

    def test_a_number_that_nowhere_can_be_read_is_asked(self) -> None:
        pair = [label(s, pictures_mm2=7000.0) for s in "AB"]
        (query,) = examined(*pair).findings[:1]
        assert (query.check, query.severity) == (CATALOGUE, Severity.QUERY)
        assert query.to_confirm == ("FWT 012",)
        assert query.parts == ("Label A", "Label B")
        assert [(mark.part, mark.page) for mark in query.where] == [("Label A", 1), ("Label B", 1)]

    def test_a_number_that_is_asked_for_with_the_other_texts_is_asked_for_once(self) -> None:
        pair = [label(s, outlined=50, expect=["Wren"]) for s in "AB"]
        findings = grave(*pair)
        assert [(f.check, f.code) for f in findings] == [(TEXT, "unread")] * 2
        assert all("FWT 012" in f.to_confirm for f in findings)

    def jacket(self, spine: str, back: str):
        from dataclasses import replace

        kept = digest("Harbour Songs", spine, panel="spine")
        other = digest(back, panel="back")
        words = kept.pages[0].words + other.pages[0].words
        page = replace(kept.pages[0], words=words)
        return piece("Jacket", replace(kept, pages=(page,)), spec="jacket-12in")

    def test_the_same_everywhere(self) -> None:
        assert status(CATALOGUE, *sides("AB"), self.jacket("FWT 012", "fwt-012")) is Status.CLEAR

    @pytest.mark.parametrize("wrong", ["FWT 013", "FWT 021", "FTW 012", "FWT O12", "FWT-0112"])
    def test_the_spine_differs(self, wrong: str) -> None:
        (stop,) = found(CATALOGUE, *sides("AB"), self.jacket(wrong, "FWT 012"))
        assert stop.severity is Severity.STOP
        assert stop.message.startswith("Jacket (spine): ")
        assert stop.measured == wrong

    def test_another_number_beside_the_right_one_is_asked(self) -> None:
        insert = piece("Insert", digest("FWT 012", "Also: FWT 009"), spec="insert-12in")
        (query,) = found(CATALOGUE, *sides("AB"), insert)
        assert (query.severity, query.measured) == ("query", "FWT 009")

    @pytest.mark.parametrize(
        "other", ["FWT 012-1", "A1 Low Water 5:12", "(P) 2026 FWT", "012 days"]
    )
    def test_what_is_no_misspelling(self, other: str) -> None:
        assert found(CATALOGUE, label("A", "FWT 012", other), *sides("B")) == []


class TestInks:
    def test_alike(self) -> None:
        assert status(INKS, *sides("AB")) is Status.CLEAR

    def test_one_ink_in_two_spellings(self) -> None:
        pair = [label("A", printed=("Fern 21 C",)), label("B", printed=("FERN 21 U",))]
        (query,) = found(INKS, *pair)
        assert (query.severity, query.measured, query.required) == ("query", 2.0, 1.0)

    def test_a_spot_that_one_label_has(self) -> None:
        pair = [label("A", printed=("Black", "Fern 21")), label("B", printed=("Black",))]
        (query,) = found(INKS, *pair)
        assert query.measured == "Fern 21"

    def test_what_the_order_quotes_is_agreed(self) -> None:
        pair = [
            label("A", printed=("Black", "Fern 21"), inks=["Black", "Fern 21"]),
            label("B", printed=("Black",), inks=["Black"]),
        ]
        assert status(INKS, *pair) is Status.CLEAR

    def test_beyond_what_is_quoted_for_the_others(self) -> None:
        pair = [
            label("A", printed=("Black", "Fern 21"), inks=["Black", "Fern 21"]),
            label("B", printed=("Black", "Fern 21", "Tarn 404")),
        ]
        (query,) = found(INKS, *pair)
        assert query.measured == "Tarn 404"

    def test_a_label_and_an_insert_are_not_printed_together(self) -> None:
        insert = piece("Insert", digest("x"), spec="insert-12in", printed=("Fern 21",))
        assert found(INKS, *sides("AB"), insert) == []


class TestSpeedHole:
    def test_agrees(self) -> None:
        assert status(SPEED_HOLE, *sides("AB")) is Status.CLEAR

    def test_45_on_a_33_order(self) -> None:
        (stop,) = found(SPEED_HOLE, label("A", "Side A", "45 RPM"), *sides("B"))
        assert (stop.severity, stop.measured, stop.required) == ("stop", "45 rpm", "33 rpm")

    def test_both_speeds_are_asked(self) -> None:
        one = label("A", "play at 33 1/3 or 45 rpm")
        (query,) = found(SPEED_HOLE, one, *sides("B"))
        assert query.severity is Severity.QUERY

    def test_a_label_of_another_record(self) -> None:
        small = piece("Label A", digest(), side="A", spec="label-7in")
        findings = found(SPEED_HOLE, small, *sides("B"))
        assert [f.measured for f in findings] == ["7-inch"]

    def test_labels_for_two_holes(self) -> None:
        pair = [
            piece("Label A", digest(), side="A", spec="label-7in"),
            piece("Label B", digest(), side="B", spec="label-7in-large-hole"),
        ]
        (stop,) = found(SPEED_HOLE, *pair, format="7-inch", speed="45")
        assert (stop.severity, stop.measured) == ("stop", "7.24 mm and 38.2 mm")

    @pytest.mark.parametrize(("drawn", "told"), [(38.2, True), (37.5, True), (30.0, False)])
    def test_a_large_hole_drawn_for_a_small_one(self, drawn: float, told: bool) -> None:
        pair = [piece(f"Label {s}", digest(hole_mm=drawn), side=s, spec="label-7in") for s in "AB"]
        findings = found(SPEED_HOLE, *pair, format="7-inch", speed="45")
        assert [f.measured for f in findings] == ([drawn, drawn] if told else [])


class TestAgreement:
    def sleeve(self, back: str, spine: str = "Harbour Songs") -> object:
        one, other = digest(spine, "FWT 012", panel="spine"), digest(back, panel="back")
        words = one.pages[0].words + other.pages[0].words
        page = replace(one.pages[0], words=words)
        return piece("Jacket", replace(one, pages=(page,)), spec="jacket-12in")

    def pair(self, title: str) -> list:
        return [label(s, f"Side {s}", *WHOLE_LABEL, title) for s in "AB"]

    @pytest.mark.parametrize(
        "back",
        [
            "1. Wren at the Sluise 3:45",
            "WREN AT THE SLUCE",
            "B2 Wren at teh Sluice",
            "Wern at the Sluice",
        ],
    )
    def test_a_title_spelt_in_two_ways_is_asked_with_both_places(self, back: str) -> None:
        (query,) = found(AGREEMENT, *self.pair("A1 Wren at the Sluice 3:45"), self.sleeve(back))
        assert query.severity is Severity.QUERY
        assert back in query.message
        assert "'A1 Wren at the Sluice 3:45' on Label A and Label B" in query.message
        assert set(query.parts) == {"Label A", "Label B", "Jacket"}
        assert {mark.part for mark in query.where} == set(query.parts)

    @pytest.mark.parametrize(
        "back",
        [
            "1. WREN AT THE SLUICE (3:45)",
            "A Wren at the Sluice",
            "Wren at the Sluice - Live at Home",
            "Owl Ledger",
            "Ash",
        ],
    )
    def test_the_same_and_what_is_another_title(self, back: str) -> None:
        parts = [*self.pair("A1 Wren at the Sluice 3:45"), self.sleeve(back)]
        assert status(AGREEMENT, *parts) is Status.CLEAR

    def test_what_differs_from_the_order_alone_is_quoted_as_it_stands(self) -> None:
        pair = [label("A", "Side A", *WHOLE_LABEL, "Owl Ledger", expect=["Owl Ledger"]),
                *sides("B")]  # fmt: skip
        (query,) = found(AGREEMENT, *pair, self.sleeve("B2 The Owl Legder Blues"))
        assert "'Owl Legder' on Jacket (back)" in query.message
        assert "'Owl Ledger' on Label A" in query.message
        assert set(query.parts) == {"Label A", "Jacket"}

    def test_sides_named_beside_the_speed_are_no_two_spellings(self) -> None:
        pair = [label(s, f"Side {s} · 45 rpm", *WHOLE_LABEL) for s in "AB"]
        assert found(AGREEMENT, *pair) == []

    def test_two_titles_that_are_alike_and_both_there_are_two(self) -> None:
        pair = [label(s, f"Side {s}", *WHOLE_LABEL, "Low Waters", "Low Water") for s in "AB"]
        assert found(AGREEMENT, *pair, self.sleeve("Low Water Low Waters")) == []

    def test_a_title_on_the_spine_that_is_nobodys(self) -> None:
        parts = [*self.pair("Wren"), self.sleeve("Wren", "Seven Kilns · FWT 012")]
        (query,) = found(AGREEMENT, *parts)
        assert (query.code, query.parts) == ("spine", ("Jacket",))
        assert "'Seven Kilns'" in query.message
        twin = [*self.pair("Wren"), self.sleeve("Wren", "Fernweh Tapes · Harbour Songs · FWT 012")]
        assert found(AGREEMENT, *twin) == []


class TestInksOfOneSheet:
    @pytest.mark.parametrize("other", ["FWT Bleu", "FWT-Blue", "fwt blue"])
    def test_a_spot_spelt_in_two_ways(self, other: str) -> None:
        pair = [
            label("A", printed=("Black", "FWT Blue"), inks=["Black", "FWT Blue"]),
            label("B", printed=("Black", other), inks=["Black", other]),
        ]
        (query,) = found(INKS, *pair)
        assert (query.code, set(query.parts)) == ("spellings", {"Label A", "Label B"})

    def test_a_spot_quoted_for_both_and_used_by_one(self) -> None:
        quoted = ["Black", "FWT Blue"]
        pair = [
            label("A", printed=("Black", "FWT Blue"), inks=quoted),
            label("B", printed=("Black",), inks=quoted),
        ]
        said = examined(*pair)
        (query,) = [f for f in said.findings if f.check == INKS]
        assert (query.code, query.parts) == ("lacking", ("Label B",))
        # That the plate stays empty is no second mistake.
        (explained,) = said.explained
        assert (explained.part, explained.check, explained.code) == (
            "Label B", "ink.plates", "empty",
        )  # fmt: skip
        own = [
            Finding("ink.plates", Severity.QUERY, "m", "f", "s", code=code)
            for code in ("empty", "slip")
        ]
        outcome = Outcome("ink.plates", Status.QUERY, "said")
        part = replace(pair[1].result, findings=tuple(own), outcomes=(outcome,))
        assert [f.code for f in less_explained(part, said.explained).findings] == ["slip"]
        part = replace(part, findings=tuple(own[:1]))
        left = less_explained(part, said.explained)
        assert (left.findings, left.outcomes[0].status) == ((), Status.NOT_APPLICABLE)
        twin = [pair[0], label("B", printed=("Black",), inks=["Black"])]
        assert found(INKS, *twin) == []

    @pytest.mark.parametrize("told", [("colour.inks", "converted"), ("colour.space", "space")])
    def test_that_a_converted_file_lacks_a_spot_is_no_second_mistake(
        self, told: tuple[str, str]
    ) -> None:
        quoted = ["Black", "FWT Blue"]
        own = Finding(told[0], Severity.STOP, "m", "f", "s", code=told[1])
        other = label("B", printed=("Cyan", "Black"), inks=quoted)
        other = replace(other, result=replace(other.result, findings=(own,)))
        one = label("A", printed=("Black", "FWT Blue"), inks=quoted)
        assert found(INKS, one, other) == []
        assert status(INKS, one, other) is Status.NOT_APPLICABLE, "nothing is agreed"

    def test_faces_of_one_piece_are_printed_with_plates_of_their_own(self) -> None:
        pair = [
            piece(f, digest("x"), spec="gatefold-12in", face=f, printed=inks)
            for f, inks in (("outside", ("Black", "FWT Blue")), ("inside", ("Black",)))
        ]
        assert found(INKS, *pair) == []

    def test_inks_of_other_numbers_are_other_inks(self) -> None:
        pair = [
            label("A", printed=("Spot 4851",), inks=["Spot 4851"]),
            label("B", printed=("Spot 4852",), inks=["Spot 4852"]),
        ]
        assert found(INKS, *pair) == []
