"""Looks into delivered files for what tells which part of an order they are: size and words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from prepcheck.art.model import PROCESS_INKS, Artwork, Page
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Affine
from prepcheck.intake.unpack import Delivered
from prepcheck.run.answer import without_numpy
from prepcheck.run.message import Failed
from prepcheck.run.pages import barcodes_of, words_of
from prepcheck.run.recognise import PossiblePiece, pieces_of
from prepcheck.run.settings import DEFAULT
from prepcheck.run.worker import isolated
from prepcheck.sheets.digest import LiveWords
from prepcheck.sheets.paid import in_order
from prepcheck.sheets.uses import colours_of
from prepcheck.spec.model import Spec

_MOST_PAGES = 40


@dataclass(frozen=True)
class SeenPage:
    """One page (1-based `number`): its size in mm (the trim where it is stated), the pieces it may
    be by its size, nearest first, its live type, the inks it is painted in (None where some of it
    is in colours that are no inks), and the numbers of its barcodes, where it may carry one."""

    number: int
    size_mm: tuple[float, float]
    pieces: tuple[PossiblePiece, ...]
    words: tuple[LiveWords, ...]
    inks: tuple[str, ...] | None = ()
    barcodes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Seen:
    """What was seen in one file; `why` says why nothing was where it cannot be read."""

    name: str
    path: Path
    sha256: str = ""
    pages: tuple[SeenPage, ...] = ()
    why: str = ""


@dataclass(frozen=True)
class LookAnswer:
    """What a worker answers: all of `Seen` but for which file it was."""

    sha256: str = ""
    pages: tuple[SeenPage, ...] = ()
    why: str = ""


@dataclass(frozen=True)
class ToLookInto:
    """One file to be looked into."""

    file: Delivered
    specs: tuple[Spec, ...]


def look_at(files: Sequence[Delivered], specs: tuple[Spec, ...], jobs: int = 1) -> list[Seen]:
    """Return what is seen in each file, each opened in a process of its own."""
    looks = [ToLookInto(file, specs) for file in files]
    found: dict[int, Seen] = {}
    for end in isolated(see, looks, LookAnswer, jobs=jobs, limits=DEFAULT.worker):
        answer = end.answer
        file = files[end.index]
        if isinstance(answer, Failed):
            answer = LookAnswer(why=answer.why)
        found[end.index] = Seen(file.name, file.path, answer.sha256, answer.pages, answer.why)
    return [found[index] for index in range(len(files))]


def see(look: ToLookInto) -> LookAnswer:
    """Look into one file."""
    file = look.file
    try:
        artwork = open_art(file.path)
        pages = tuple(_page(artwork, page, look.specs) for page in artwork.pages[:_MOST_PAGES])
    except ArtworkError as error:
        return LookAnswer(why=str(error))
    return without_numpy(LookAnswer(artwork.sha256, pages))


def _page(artwork: Artwork, page: Page, specs: Sequence[Spec]) -> SeenPage:
    box = page.boxes.trim or page.boxes.crop or page.boxes.media
    pieces = pieces_of(artwork, page, specs)
    expected = {spec.name for spec in specs if spec.barcode is not None and spec.barcode.expected}
    barcodes = barcodes_of(page) if any(piece.spec in expected for piece in pieces) else ()
    return SeenPage(
        page.index + 1, (box.width, box.height), pieces, words_of(page), _inks(artwork, page),
        barcodes,
    )  # fmt: skip


def _inks(artwork: Artwork, page: Page) -> tuple[str, ...] | None:
    """Return the inks a page is painted in, process inks first; None where it has other colours."""
    try:
        content = page.content(Affine.identity())
    except ArtworkError:
        return None
    spaces = {image.space.kind for image in content.images} | {
        colour.space.kind for colour in colours_of(content)
    }
    if spaces & {"rgb", "lab"}:
        return None
    more = PROCESS_INKS if artwork.raster is not None and "cmyk" in spaces else ()
    black = ("Black",) if artwork.raster is not None and "grey" in spaces else ()
    return in_order((*content.inks, *more, *black))
