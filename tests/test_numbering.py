"""One number for each finding, in letter, proof, console and report alike."""

from __future__ import annotations

import io
import re
from dataclasses import replace

from pypdf import PdfReader

from prepcheck.findings import Finding, Result, Severity, shared_out
from prepcheck.numbering import numbered, spelled, with_numbers
from prepcheck.proof.write import proof_bytes
from prepcheck.report.console import console_text
from prepcheck.report.letter import letter_text
from tests.proof import made_up
from tests.report.results import NOTE, SHORT, TURNED, order, part

SWAPPED = Finding(
    "order.swapped", Severity.STOP, "The sides are exchanged.", "Swap the two files.", "the order",
    parts=("Label A", "Label B"),
)  # fmt: skip
LACKING = Finding(
    "order.text", Severity.QUERY, "'FWT 012' could not be read.", "Please look.", "the order",
    parts=("Label B",),
)  # fmt: skip


def mixed() -> Result:
    """Two labels with findings of their own, of both, and of the order that concern them."""
    findings = (LACKING, SWAPPED)
    labels = (
        part("Label A", NOTE, TURNED, SHORT, replace(TURNED, page=2)),
        part("Label B", TURNED, file="b.pdf"),
    )
    result = order(*(shared_out(findings, label) for label in labels))
    return numbered(replace(result, findings=findings))


def test_numbers_run_as_the_letter_does_notes_last() -> None:
    result = mixed()
    assert [f.number for f in result.findings] == [6, 1]
    assert [f.number for f in result.parts[0].findings] == [7, 3, 2, 4]
    assert [f.number for f in result.parts[1].findings] == [5]


def test_each_number_is_given_once_and_none_is_left_out() -> None:
    result = mixed()
    assert sorted(f.number for f in result.every) == list(range(1, 8))


def test_a_finding_of_several_parts_has_one_number() -> None:
    result = mixed()
    for label in result.parts:
        shared = [f for f in label.of_order if f.check == SWAPPED.check]
        assert [f.number for f in shared] == [result.findings[1].number]


def test_numbers_that_are_there_stay() -> None:
    result = mixed()
    fewer = replace(result, findings=(), parts=result.parts[1:])
    assert with_numbers(fewer).parts[0].findings[0].number == 5


def test_numbers_as_people_list_them() -> None:
    assert spelled([3]) == "3"
    assert spelled([5, 3]) == "3 and 5"
    assert spelled([9, 4, 3, 6, 5, 12]) == "3 to 6, 9 and 12"
    assert spelled([3, 4, 7, 8]) == "3, 4, 7 and 8"


def test_letter_and_console_have_the_same_numbers_and_counts() -> None:
    result = mixed()
    letter = letter_text(result)
    told = [int(n) for n in re.findall(r"^ ?(\d+)\. ", letter, re.M)]
    told += [int(n) for line in re.findall(r"^ ?(\d+(?: and \d+)+)\. ", letter, re.M)
             for n in line.split(" and ")]  # fmt: skip
    asked = [f.number for f in result.every if f.severity is not Severity.NOTE]
    assert sorted(told) == sorted(asked)
    assert "2 points have to be corrected and 4 need a decision" in " ".join(letter.split())
    rows = re.findall(r"^ +(\d+)  (?:STOP|QUERY|NOTE) +(\S+)", console_text(result), re.M)
    assert {int(number): check for number, check in rows} == {
        f.number: f.check for f in result.every
    }
    assert "STOP of the order as a whole, see 1 there." in console_text(result)
    assert "Findings: 2 stops, 4 queries, 1 note." in console_text(result)


def test_a_finding_of_one_part_is_told_under_its_file() -> None:
    letter = letter_text(mixed())
    assert letter.index("b.pdf (Label B)") < letter.index("'FWT 012' could not be read.")
    assert "See also 1, under the order as a whole." in letter


def test_the_proofs_badges_are_the_letters_numbers() -> None:
    parts = made_up.order_parts()
    result = numbered(made_up.result_of(parts))
    reader = PdfReader(io.BytesIO(proof_bytes(result, parts, made_on=made_up.MADE_ON)))
    text = "\n".join(page.extract_text() for page in reader.pages)
    for found in result.every:
        # In lists the badge's number and the word for its gravity stand over what is said; the
        # caption of a close-up and the cover's list have the number right before it.
        beginning = re.escape(" ".join(found.message.split()[:3]))
        word = found.severity.value.upper()
        assert re.search(rf"^{found.number} {word}.*\n{beginning}", text, re.M), found
        if found.severity is not Severity.NOTE:
            assert re.search(rf"^{found.number}: {beginning}", text, re.M), found
    insets = [inset for part in parts for page in part.pages for inset in page.insets]
    captions = re.findall(r"^(\d+)[ \n](?!STOP|QUERY|NOTE|\d)\D{12}", text, re.M)
    assert insets
    assert set(captions) >= {"2", "3", "7", "8"}
