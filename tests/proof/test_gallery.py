"""The cover of an order: thumbnails, empty frames, and the list of what to do."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from prepcheck.findings import Severity
from prepcheck.proof.gallery import gallery_rows
from prepcheck.proof.todo_list import todo_blocks
from prepcheck.proof.write import proof_bytes
from tests.proof import made_up
from tests.proof.test_write import squeezed


def cover_of(**changes: object) -> str:
    parts = made_up.order_parts()
    result = replace(made_up.result_of(parts), **changes)  # type: ignore[arg-type]
    reader = PdfReader(io.BytesIO(proof_bytes(result, parts, made_on=made_up.MADE_ON)))
    return squeezed(" ".join(page.extract_text() for page in reader.pages[:3]))


def test_every_part_and_what_is_missing() -> None:
    text = cover_of(missing=("Label, side C", "Inner bag"))
    for part in made_up.order_parts():
        assert squeezed(part.result.name) in text
    assert squeezed("Label, side C") in text
    assert text.count("MISSING") == 2
    assert "MISSING" not in cover_of()


def test_pictures_are_stored_once() -> None:
    parts = made_up.order_parts()
    data = proof_bytes(made_up.result_of(parts), parts, made_on=made_up.MADE_ON)
    reader = PdfReader(io.BytesIO(data))
    stored = {
        image.indirect_reference.idnum
        for page in reader.pages
        for image in page.images
        if image.indirect_reference is not None
    }
    on_cover = {i.indirect_reference.idnum for i in reader.pages[0].images if i.indirect_reference}
    later = {
        image.indirect_reference.idnum
        for page in reader.pages[1:]
        for image in page.images
        if image.indirect_reference is not None
    }
    assert on_cover
    assert on_cover <= later
    assert stored == later


@pytest.mark.parametrize(("parts", "missing", "rows"), [(1, 0, 0), (1, 1, 1), (4, 0, 1), (4, 1, 2)])
def test_rows(parts: int, missing: int, rows: int) -> None:
    some = (made_up.order_parts() * 4)[:parts]
    assert len(gallery_rows(some, ["Label"] * missing, 480.0)) == rows


def test_what_to_do_is_listed_by_file() -> None:
    parts = made_up.order_parts()
    result = made_up.result_of(parts)
    asked = [p for p in result.parts if any(f.severity is not Severity.NOTE for f in p.findings)]
    text = cover_of()
    assert squeezed("What to do") in text
    for part in asked:
        assert squeezed(part.file) in text
    blocks = todo_blocks(result, 480.0)
    assert len(blocks) > len(asked)
    quiet = replace(result, parts=tuple(replace(p, findings=()) for p in result.parts))
    assert todo_blocks(quiet, 480.0) == []
