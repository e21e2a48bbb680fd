"""Writes the proof: all pages, numbered, in one PDF that appears whole or not at all."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

from PIL import Image
from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from prepcheck.findings import Result
from prepcheck.numbering import with_numbers
from prepcheck.output import write_whole
from prepcheck.proof.art_pages import art_leaves, shown_pages
from prepcheck.proof.checked import checked_leaves
from prepcheck.proof.confirm import confirm_leaves
from prepcheck.proof.cover import cover_leaves
from prepcheck.proof.figures import day
from prepcheck.proof.finished import finished_leaves
from prepcheck.proof.in_order import in_order_leaves
from prepcheck.proof.ink_page import ink_leaves
from prepcheck.proof.leaf import Leaf
from prepcheck.proof.model import ProofFor, ProofPage, ProofPart, Signed
from prepcheck.proof.numbers import numbered_parts
from prepcheck.proof.pen import Align, Pen, StoredPictures
from prepcheck.proof.plates_page import plates_leaves
from prepcheck.proof.shipped_fonts import face_name, load_faces
from prepcheck.proof.signoff import signoff_leaves
from prepcheck.proof.theme import SMALL, FontFile, Palette
from prepcheck.proof.typeset import clean, plain_advances, shortened
from prepcheck.proof.unread import unread_leaves


def make_ready() -> None:
    """Bring in what every proof takes, which may be done while there is nothing to show yet."""
    load_faces()
    for face in FontFile:
        for code in range(32, 127):
            plain_advances(face)[chr(code)]
    Image.preinit()  # what the PDF library opens pictures with


def write_proof(
    path: Path,
    result: Result,
    parts: Sequence[ProofPart],
    *,
    made_on: date,
    proof_for: ProofFor = "client",
) -> None:
    """Write the proof of `result` to `path`; see `proof_bytes`.

    The same arguments give the same bytes. Raises OutputError when the place cannot be written;
    whatever stood at `path` before then stays as it was.
    """
    data = proof_bytes(result, parts, made_on=made_on, proof_for=proof_for)
    write_whole(path, data)


def proof_bytes(
    result: Result,
    parts: Sequence[ProofPart],
    *,
    made_on: date,
    signed: Signed | None = None,
    proof_for: ProofFor = "client",
) -> bytes:
    """Return the proof as the bytes of a PDF, signed off where somebody has done so.

    The client's has a page for each face; the plant's the finished look, plates and ink on pages
    of their own besides.
    """
    leaves = list(leaves_of(result, parts, made_on, signed, proof_for))
    return document(leaves, running_head(result), result.version, made_on)


def document(leaves: Sequence[Leaf], head: str, version: str, made_on: date) -> bytes:
    """Return pages as the bytes of a PDF, `head` above all but the first."""
    out = io.BytesIO()
    with _binary_streams():
        canvas = Canvas(
            out, invariant=1, pageCompression=1, lang="en", initialFontName=face_name(FontFile.TEXT)
        )
        canvas.setTitle(_plain(head))
        canvas.setAuthor("prepcheck")
        canvas.setCreator(f"prepcheck {version}")
        canvas.setSubject("Artwork proof")
        pictures = StoredPictures()
        for number, leaf in enumerate(leaves, 1):
            canvas.setPageSize((leaf.paper.width, leaf.paper.height))
            pen = Pen(canvas, leaf.paper, pictures)
            if leaf.bookmark is not None:
                words, depth = leaf.bookmark
                canvas.bookmarkPage(f"page-{number}")
                canvas.addOutlineEntry(_plain(words), f"page-{number}", depth, closed=False)
            leaf.draw(pen)
            foot = f"prepcheck {version} · {day(made_on)} · not a contract colour proof"
            _draw_running(pen, leaf, "" if number == 1 else head, foot)
            folio = f"{number} / {len(leaves)}"
            pen.text(pen.paper.right, 813, folio, SMALL.in_ink(Palette.TEXT), Align.RIGHT)
            canvas.showPage()
        canvas.save()
    return out.getvalue()


def leaves_of(
    result: Result,
    parts: Sequence[ProofPart],
    made_on: date,
    signed: Signed | None,
    proof_for: ProofFor,
) -> Iterator[Leaf]:
    """Yield the pages of a proof in order."""
    result = with_numbers(result)
    parts = numbered_parts(parts, result)
    yield from cover_leaves(result, parts, made_on, proof_for)
    for part in parts:
        for page in shown_pages(part) if proof_for == "client" else part.pages:
            for leaf in (*art_leaves(part, page, proof_for), *confirm_leaves(part, page)):
                yield replace(leaf, note=colours_of(page.condition))
            if proof_for == "plant":
                yield from _plant_leaves(part, page)
    yield from unread_leaves([p for p in parts if not p.pages and p.result.received])
    if proof_for == "client":
        yield from checked_leaves(result)
    else:
        yield from in_order_leaves(result)
    yield from signoff_leaves(result, parts, made_on, signed)


def _plant_leaves(part: ProofPart, page: ProofPage) -> Iterator[Leaf]:
    for leaf in (*finished_leaves(part, page), *plates_leaves(part, page)):
        yield replace(leaf, note=colours_of(page.condition))
    yield from ink_leaves(part, page)


def colours_of(condition: str) -> str:
    """Return what the colours of a page stand for, with the caution; nothing where not known."""
    if not condition:
        return ""
    return (
        f"Colours as printed: {condition}. Reckoned from the plates and shown as a screen "
        "can; not a contract colour proof."
    )


def _draw_running(pen: Pen, leaf: Leaf, head: str, foot: str) -> None:
    """Set the running head, where there is one, and foot."""
    paper = pen.paper
    if head:
        pen.text(paper.left, 36, shortened(head, SMALL, paper.measure * 0.6), SMALL)
        section = shortened(leaf.section, SMALL, paper.measure * 0.35)
        pen.text(paper.right, 36, section, SMALL, Align.RIGHT)
        pen.rule(paper.left, 42, paper.right)
    if leaf.note:
        pen.text(paper.left, 801, shortened(leaf.note, SMALL, paper.measure), SMALL)
    pen.text(paper.left, 813, foot, SMALL)


def running_head(result: Result) -> str:
    """Return what stands above every page but the first."""
    order = result.order
    facts = (order.number, order.title, order.catalogue) if order else ()
    return " · ".join(fact for fact in facts if fact) or "Artwork proof"


def _plain(text: str) -> str:
    """Return text that can be encoded, for the document's outline and information."""
    return clean(text).encode("utf-16", "replace").decode("utf-16")


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Have the PDF library write streams as they are: its default spends a quarter more."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before
