"""The letter: plain, complete, and of lines that every mail program shows."""

from __future__ import annotations

from dataclasses import replace

from prepcheck.findings import Result
from prepcheck.report.letter import letter_text
from prepcheck.todo import requests_of
from tests.report.results import NOTE, SHORT, TURNED, order, part

LONG = replace(
    SHORT, message="Ink reaches only 0.8 mm. " * 12, fix="Export “größer” – 日本語で" * 6
)


def test_what_is_asked_file_by_file() -> None:
    result = order(part("Label A", TURNED, SHORT), part("Label B", NOTE, file="b.tif"))
    text = letter_text(result)
    assert text == (
        "Artwork for Harbour Songs, FWT 012, order P-0417\n"
        "\n"
        "Dear Fernweh Tapes,\n"
        "\n"
        "Thank you for the artwork. We have looked at 2 files. Before plates can be\n"
        "made, 1 point has to be corrected and 1 needs a decision from you.\n"
        "\n"
        "a.pdf (Label A)\n"
        "---------------\n"
        "To be corrected:\n"
        " 1. Ink reaches only 0.8 mm past the trim on 11 % of the edge.\n"
        "    Extend the background 3 mm past the trim all round.\n"
        "For you to decide:\n"
        " 2. The page is turned by 90 degrees.\n"
        "    Export the page upright.\n"
        "\n"
        "Every place is marked with its measure in the proof that comes with this\n"
        "message. Please send corrected files under the same names; files that are\n"
        "not listed here need not be sent again. If anything is unclear, please ask\n"
        "before changing it.\n"
        "\n"
        "With kind regards\n"
        "\n"
        "Written with prepcheck 0.1.0\n"
    )


def test_lines_are_no_wider_than_76_columns() -> None:
    text = letter_text(order(part("Label " + "A" * 90, LONG)))
    assert max(map(len, text.splitlines())) <= 76
    assert text.isprintable() is False  # line feeds
    assert all(line.isprintable() for line in text.splitlines())


def test_a_sentence_that_begins_with_a_file_keeps_its_name() -> None:
    found = replace(SHORT, message="labels.zip/x.pdf may be label A.", fix="tell us which.")
    text = letter_text(order(part("Label A", found)))
    assert " 1. labels.zip/x.pdf may be" in text
    assert "    Tell us which." in text


def test_no_identifiers() -> None:
    result = order(part("Label A", SHORT, TURNED), part("Label B", LONG, file="b.pdf"))
    text = letter_text(replace(result, findings=(SHORT,)))
    for finding in (SHORT, TURNED):
        assert finding.check not in text
    assert text.index("The order as a whole") < text.index("a.pdf")


def test_nothing_to_do() -> None:
    text = " ".join(letter_text(order(part("Label A"))).split())
    assert "nothing keeps the art from going to plates" in text
    assert "sign it" in text
    assert letter_text(Result("0.1.0", None, (part("Label A"),))).startswith("Hello,\n")


def test_a_check_that_failed_is_told() -> None:
    text = " ".join(letter_text(order(part("Label A", crashed=True))).split())
    assert "measurements failed" in text
    assert "nothing keeps" not in text


def test_one_remedy_is_said_once() -> None:
    third = replace(SHORT, page=3)
    other = replace(SHORT, page=2, message="Ink reaches only 0.5 mm past the trim.")
    several = replace(part("Bag", third, SHORT, other), pages=3)
    (group,) = requests_of(order(several))
    (request,) = group.requests
    assert tuple(one[:2] for one in request.found) == (
        ((1, 2), f"Pages 1 and 3: {SHORT.message}"),
        ((3,), f"Page 2: {other.message}"),
    )
    assert request.fix == SHORT.fix


def test_numbers_run_through_the_whole_letter() -> None:
    result = order(part("Label A", TURNED, SHORT), part("Label B", SHORT, file="b.pdf"))
    text = letter_text(replace(result, findings=(SHORT,)))
    numbers = [line[:3] for line in text.splitlines() if line[:2].strip().isdigit()]
    assert numbers == [" 1.", " 2.", " 3.", " 4."]


def test_nothing_done_is_said_only_of_files_with_nothing_at_all() -> None:
    shared = replace(SHORT, parts=("Label C", "Label A"))
    of_order = replace(part("Label C", file="c.pdf"), of_order=(shared,))
    result = order(
        part("Label A", SHORT), part("Label B", NOTE, file="b.tif"), of_order,
        part("Label D", file="d.pdf"),
    )  # fmt: skip
    text = letter_text(replace(result, findings=(shared,)))
    assert "d.pdf needs nothing done." in text
    assert "b.tif" not in text


def test_a_remedy_of_a_stop_is_not_told_again_for_a_query() -> None:
    eased = replace(TURNED, fix=SHORT.fix, page=1)
    text = " ".join(letter_text(order(part("Label A", SHORT, eased))).split())
    assert text.count(SHORT.fix) == 1
    assert "2. The page is turned by 90 degrees. What is asked under 1 helps here too." in text
