"""What is found about an order stands on the pages of the parts it concerns; what no program could
read has boxes to tick; and the client's proof is a page a face."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache

import pypdfium2 as pdfium
import pytest
from pypdf import PdfReader

from prepcheck.findings import Finding, Mark, Outcome, Severity, Status, shared_out
from prepcheck.geometry import Box
from prepcheck.proof.model import ProofFor, ProofPart
from prepcheck.proof.write import proof_bytes
from tests.proof import made_up
from tests.proof.test_write import squeezed

SWAPPED = "The texts of label A stand on label B."
UNREAD = "The type of label B cannot be read."
TEXTS = ("Harbour Lights", "KLP 0214", "Side B")


def of_order(message: str, *where: Mark, **more: object) -> Finding:
    return Finding(
        "made.up", Severity.QUERY, message, "Look at it.", "made up", where=where,
        **more,  # type: ignore[arg-type]
    )  # fmt: skip


FINDINGS = (
    of_order(
        SWAPPED,
        Mark(Box.centred(20, 5, (0, 28)), part="label A", page=1),
        Mark(Box.centred(20, 5, (0, -28)), part="label B", page=1),
        parts=("label A", "label B"),
    ),
    of_order(
        UNREAD,
        Mark(Box.centred(100, 100), part="label B", page=1),
        parts=("label B",), to_confirm=TEXTS,
    ),
)  # fmt: skip


def clear_parts() -> tuple[ProofPart, ...]:
    return (
        made_up.part_of("label A", "label-12in", made_up.label_image(), 110, (), side="A"),
        made_up.part_of("label B", "label-12in", made_up.label_image(), 110, (), side="B"),
        made_up.part_of("jacket", "jacket-12in", made_up.jacket_image(), 645, ()),
    )


def proof(
    findings: tuple[Finding, ...], proof_for: ProofFor = "client"
) -> tuple[tuple[ProofPart, ...], bytes]:
    parts = tuple(replace(part, result=shared_out(findings, part.result)) for part in clear_parts())
    result = replace(made_up.result_of(parts), findings=findings)
    return parts, proof_bytes(result, parts, made_on=made_up.MADE_ON, proof_for=proof_for)


@cache
def pages(proof_for: ProofFor) -> tuple[str, ...]:
    reader = PdfReader(io.BytesIO(proof(FINDINGS, proof_for)[1]))
    return tuple(squeezed(page.extract_text()) for page in reader.pages)


def test_a_clear_order_is_a_cover_a_page_a_face_what_was_checked_and_the_sign_off() -> None:
    parts, data = proof(())
    faces = sum(len(part.pages) for part in parts)
    texts = [squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(data)).pages]
    assert len(texts) == 1 + faces + 1 + 1
    for text in texts[1:-2]:
        assert squeezed("The finished look") in text
        assert squeezed("Nothing to correct or to decide on this page.") in text
    assert squeezed("What was checked") in texts[-2]
    assert squeezed("Sign-off") in texts[-1]


def test_checks_are_named_by_what_they_look_for() -> None:
    parts = clear_parts()
    agreed = Outcome("made.up-order", Status.CLEAR, "all spellings agree", title="Spellings")
    result = replace(made_up.result_of(parts), outcomes=(agreed,))
    data = proof_bytes(result, parts, made_on=made_up.MADE_ON)
    text = squeezed(PdfReader(io.BytesIO(data)).pages[-2].extract_text())
    assert squeezed("Trimmed size all 3 parts") in text
    assert squeezed("Spellings All spellings agree") in text


@pytest.mark.parametrize("kind", ["client", "plant"])
def test_findings_of_the_order_stand_on_the_page_of_each_part_they_concern(kind: ProofFor) -> None:
    swapped = [i for i, text in enumerate(pages(kind)) if squeezed(SWAPPED) in text]
    heads = [pages(kind)[i] for i in swapped]
    for name in ("label A", "label B"):
        faces = [text for text in heads if squeezed(f"{name} Centre label") in text]
        assert len(faces) == 1
        assert squeezed("Close-ups") in faces[0]
        assert squeezed("Nothing to correct") not in faces[0]
    jacket = next(text for text in pages(kind) if squeezed("jacket Jacket") in text)
    assert squeezed("Nothing to correct or to decide on this page.") in jacket


def test_the_sign_off_counts_what_each_part_counts() -> None:
    sign_off = pages("client")[-1]
    assert re.search(r"labelAlabel_A\.pdfQUERY1query", sign_off)
    assert re.search(r"labelBlabel_B\.pdfQUERY2queries", sign_off)
    assert re.search(r"jacketjacket\.pdfCLEARnofindings", sign_off)
    assert squeezed("3 parts checked: 2 queries") in pages("client")[0]


def boxes_on(data: bytes, index: int) -> int:
    """Return how many empty squares of 9 pt with a line round them stand on a page."""
    document = pdfium.PdfDocument(data)
    found = set()
    for item in document[index].get_objects():
        if item.type == pdfium.raw.FPDF_PAGEOBJ_PATH:
            left, bottom, right, top = item.get_bounds()
            if right - left == pytest.approx(9.8, abs=0.9) == top - bottom:
                found.add((round(left), round(bottom)))
    document.close()
    return len(found)


def test_each_text_that_could_not_be_read_has_a_box_with_the_part_and_in_the_sign_off() -> None:
    _, data = proof(FINDINGS)
    texts = pages("client")
    own = [i for i, text in enumerate(texts[:-1]) if squeezed("“KLP 0214”") in text]
    assert own
    for index in (*own, len(texts) - 1):
        for words in TEXTS:
            assert squeezed(f"“{words}”") in texts[index]
        assert boxes_on(data, index) >= len(TEXTS)
    assert squeezed("To be confirmed 3 texts") in texts[-1]


def test_a_face_with_texts_to_look_for_is_shown_larger_than_true_size() -> None:
    """The label is 100 mm wide; on its own page its picture, of 110 mm, is wider still."""
    _, data = proof(FINDINGS)
    (index,) = [i for i, text in enumerate(pages("client")) if "Tobeconfirmed:labelB" in text]
    document = pdfium.PdfDocument(data)
    widths = [
        (right - left) * 25.4 / 72
        for item in document[index].get_objects()
        if isinstance(item, pdfium.PdfImage)
        for left, _, right, _ in (item.get_bounds(),)
    ]
    document.close()
    assert max(widths) > 1.5 * 110


def test_what_did_not_come_again_is_not_called_unreadable() -> None:
    part = clear_parts()[0]
    kept = ProofPart(replace(part.result, kept_from="the report of 3 March"), None)
    data = proof_bytes(made_up.result_of((kept,)), (kept,), made_on=made_up.MADE_ON)
    text = squeezed("".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages))
    assert squeezed("Not sent again") in text
    assert squeezed("could not be read") not in text


def test_blank_faces_are_told_once() -> None:
    part = made_up.part_of("bag", "inner-12in", made_up.jacket_image(325, 325), 325, ())
    image = made_up.jacket_image(325, 325).copy()
    image.paste("#ffffff", (0, 0, image.width, image.height))
    blank = replace(part.pages[0], number=2, page_index=1, picture=made_up.picture_of(image, 325))
    both = replace(part, pages=(part.pages[0], blank))
    data = proof_bytes(made_up.result_of((both,)), (both,), made_on=made_up.MADE_ON)
    texts = [squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(data)).pages]
    assert len(texts) == 1 + 1 + 1 + 1
    assert sum(squeezed("of one plain colour") in text for text in texts) == 1
