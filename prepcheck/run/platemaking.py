"""Writes a file's plates, its ink map and what each plate carries."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from prepcheck import __version__
from prepcheck.art.model import Artwork, Page
from prepcheck.art.open import open_art
from prepcheck.errors import (
    ArtworkError,
    CrashError,
    OutputError,
    UnreadableError,
    UsageError,
)
from prepcheck.faults import A_FOLDER, no_plain_file
from prepcheck.geometry import Affine, Box
from prepcheck.measure.ink import Cells
from prepcheck.outline import Outline, Panel, Panels
from prepcheck.output import PICTURE_MARK, refuse_inputs
from prepcheck.press.separate.conversion import OutputProfile
from prepcheck.press.separate.plates import Plates
from prepcheck.press.separate.printed import plates_or_screen, reduced
from prepcheck.press.show.condition import load_condition
from prepcheck.press.show.coverage import Extent, coverage
from prepcheck.press.show.inkmap import ink_map, with_legend
from prepcheck.press.show.profiles import ink_profile
from prepcheck.press.view import ByteArray
from prepcheck.report.plate_table import (
    InkFacts,
    PlateFacts,
    PlatesPage,
    PlatesReport,
    UnknownInk,
    plates_json,
)
from prepcheck.run.alone import done_alone
from prepcheck.run.gather import gather
from prepcheck.run.output_names import slug
from prepcheck.run.placing import placed, settled
from prepcheck.run.printing import total_ink
from prepcheck.run.settings import DEFAULT, Settings
from prepcheck.spec.model import Spec
from prepcheck.units import MM_PER_INCH, mm_per_px

_WHITE_IS_ZERO, _DESCRIPTION, _PHOTOMETRIC, _PAGE_NAME = 0, 270, 262, 285
_NOT_IN_INKS = "not in inks"


@dataclass(frozen=True)
class PlatesTask:
    """A file to separate; what is written goes to `folder`, by names that begin with `stem`.

    Without `ppi` the resolution is chosen by the size of the piece.
    """

    path: Path
    file: str
    specs: tuple[Spec, ...]
    told: str | None
    folder: Path
    stem: str
    ppi: float | None
    settings: Settings = DEFAULT


@dataclass(frozen=True)
class Surface:
    """Where a page's plates are made: the piece's outline, its bleed, and the ink limit."""

    page: Page
    outline: Outline
    to_piece: Affine
    bleed_mm: float
    trim_mm: tuple[float, float]
    found_by: str
    limit_percent: float | None


def write_plates(
    art: Path,
    *,
    out: Path,
    spec: str | Path | None = None,
    ppi: float | None = None,
    settings: Settings = DEFAULT,
) -> tuple[PlatesReport, tuple[Path, ...]]:
    """Write the plates of an art file into the folder `out`; return what they carry and the files.

    A file `name.pdf` gives `name-cyan.tif` and so on, `name-ink-map.png` and `name-plates.json`,
    with the page's number behind the name where there are several. Each plate is an 8-bit grey
    TIFF whose samples are ink, 255 solid (WhiteIsZero). All files appear, or none.

    Raises UsageError or SpecError for arguments that cannot be used, UnreadableError for a file
    that cannot be separated, OutputError, and CrashError when prepcheck itself failed.
    """
    if no_plain_file(art) == A_FOLDER or art.suffix.lower() == ".toml":
        raise UsageError(f"{art}: this is no art file; name one PDF, TIFF, JPEG, PNG or PSD file")
    task = gather([art], spec=spec, settings=settings).batches[0].tasks[0]
    aside = out / f".plates.{os.getpid()}.part"
    work = PlatesTask(
        task.path, task.file, task.specs, task.told, aside, slug(art.stem), ppi, settings
    )
    try:
        aside.mkdir(parents=True)
        report = _separated(work)
        names = [file.name for file in sorted(aside.iterdir())]
        files = tuple(out / name for name in names)
        refuse_inputs(files, [art])
        for name, file in zip(names, files, strict=True):
            (aside / name).replace(file)
    except OSError as error:
        raise OutputError(
            f"{out}: the plates cannot be written ({error.strerror or error}); choose another "
            "place with --out"
        ) from None
    finally:
        with suppress(OSError):
            shutil.rmtree(aside)
    return report, files


def _separated(work: PlatesTask) -> PlatesReport:
    """Separate in a process of its own; return what it says or raise it as an error."""
    answer = done_alone(
        separate_file, work, PlatesAnswer, limits=work.settings.worker, scratch=work.folder,
        what=work.file,
    )  # fmt: skip
    assert answer.report is not None
    return answer.report


@dataclass(frozen=True)
class PlatesAnswer:
    """The report, or the kind of fault and its lines."""

    report: PlatesReport | None = None
    fault: str = ""
    lines: tuple[str, ...] = ()


def separate_file(task: PlatesTask) -> PlatesAnswer:
    """Open the art, settle where its pieces lie, and write what each page's plates carry."""
    try:
        artwork = open_art(task.path)
        if not artwork.pages:
            raise UnreadableError(f"{task.file}: the file has no page; export it again")
        spec, how = _settled(task, artwork)
        condition = None if spec is None else load_condition(spec.print_condition)
        profile = ink_profile(condition, artwork)
        pages = [_surface(page, artwork, spec) for page in artwork.pages]
        for surface in pages:
            _refuse_too_fine(task, _box(surface))
        made = tuple(_written(task, surface, profile, len(pages) > 1) for surface in pages)
        name = None if spec is None else spec.name
        report = PlatesReport(__version__, task.file, artwork.sha256, name, how, made)
        _write(task.folder / f"{task.stem}-plates.json", plates_json(report).encode())
    except UsageError as error:
        return PlatesAnswer(fault="usage", lines=error.lines)
    except OutputError as error:
        return PlatesAnswer(fault="output", lines=error.lines)
    except ArtworkError as error:
        return PlatesAnswer(fault="unreadable", lines=error.lines)
    return PlatesAnswer(report)


def _settled(task: PlatesTask, artwork: Artwork) -> tuple[Spec | None, str]:
    try:
        return settled(artwork, artwork.pages[0], task.specs, task.told, None, task.file)
    except UsageError:
        return None, "not recognised by its size, so taken as the page states it; see --spec"


def _surface(page: Page, artwork: Artwork, spec: Spec | None) -> Surface:
    if spec is None:
        return _by_its_boxes(page)
    _, page, outline, placement = placed(artwork, spec, page.index, page)
    size = (placement.trim.width, placement.trim.height)
    return Surface(
        page, outline, placement.to_piece, spec.bleed.wanted_mm, size, placement.found_by.value,
        spec.ink.most_total_percent,
    )  # fmt: skip


def _by_its_boxes(page: Page) -> Surface:
    """Take the TrimBox, else the whole page, as the piece, and what it states as the bleed."""
    boxes = page.boxes
    whole = boxes.crop or boxes.media
    trim, sheet = boxes.trim or whole, boxes.bleed or boxes.media
    x, y = trim.centre
    panel = Panel("page", "face", Box.centred(trim.width, trim.height))
    bleed = min(
        trim.x0 - sheet.x0, trim.y0 - sheet.y0, sheet.x1 - trim.x1, sheet.y1 - trim.y1
    )  # fmt: skip
    found_by = "TrimBox" if boxes.trim else "the whole page"
    return Surface(
        page, Panels((panel,)), Affine.move(-x, -y), max(0.0, bleed), (trim.width, trim.height),
        found_by, None,
    )  # fmt: skip


def _box(surface: Surface) -> Box:
    return surface.outline.bounds.grown(surface.bleed_mm)


def _refuse_too_fine(task: PlatesTask, box: Box) -> None:
    most = task.settings.plate_file.most_pixels
    if task.ppi is None or box.area * (task.ppi / MM_PER_INCH) ** 2 <= most:
        return
    finest = int((most / box.area) ** 0.5 * MM_PER_INCH)
    raise UsageError(
        f"--ppi {task.ppi:g}: too fine for a piece of {box.width:.0f} × {box.height:.0f} mm; "
        f"at most {finest} is possible here"
    )


def _written(
    task: PlatesTask, surface: Surface, profile: OutputProfile | None, is_one_of_several: bool
) -> PlatesPage:
    box = _box(surface)
    ppi = task.ppi or task.settings.plate_file.ppi(box)
    plates, _ = plates_or_screen(surface.page, surface.to_piece, box, ppi, profile)
    if plates.failed:
        raise CrashError(plates.failed)
    number = surface.page.index + 1
    stem = f"{task.stem}-{number}" if is_one_of_several else task.stem
    extent = Extent.of(surface.outline, plates.grid, surface.bleed_mm)
    names = _file_names(stem, (*plates.inks, _NOT_IN_INKS))
    facts = []
    for one, plate in zip(coverage(plates, extent), plates.data, strict=True):
        name = names[one.ink]
        _write_tiff(task, name, plate, one.ink, ppi)
        facts.append(
            PlateFacts(one.ink, name, one.percent, one.solid_mm2, one.sheet_mm2, one.printed_mm2)
        )
    total = total_ink(Cells.of(plates, surface.outline), surface.bleed_mm, surface.limit_percent)
    unknown = None
    if plates.not_in_inks is not None:
        name = names[_NOT_IN_INKS]
        _write_tiff(task, name, plates.not_in_inks, _NOT_IN_INKS, ppi)
        unknown = UnknownInk(name, total.unknown_mm2)
    map_name = f"{stem}-ink-map.png"
    _write_map(task, map_name, plates, surface.limit_percent)
    grid = plates.grid
    return PlatesPage(
        number=number,
        trim_mm=surface.trim_mm,
        trim_found_by=surface.found_by,
        face_mm2=extent.face_mm2,
        ppi=ppi,
        pitch_mm=grid.pitch,
        left_mm=grid.left,
        top_mm=grid.top,
        width_px=grid.width,
        height_px=grid.height,
        plates=tuple(facts),
        total=InkFacts(
            total.greatest_percent,
            sum(fact.percent for fact in facts),
            surface.limit_percent,
            total.over_mm2,
        ),
        ink_map=map_name,
        not_in_inks=unknown,
        troubles=plates.troubles,
        limits=plates.limits,
        converted_by=plates.converted_by,
    )


def _file_names(stem: str, inks: Iterable[str]) -> dict[str, str]:
    """Return a file name for each ink; names alike but for their case are numbered."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for ink in inks:
        base = name = f"{stem}-{slug(ink).lower()}"
        count = 1
        while name.casefold() in taken:
            count += 1
            name = f"{base}-{count}"
        taken.add(name.casefold())
        names[ink] = f"{name}.tif"
    return names


def _write_tiff(task: PlatesTask, name: str, plate: ByteArray, ink: str, ppi: float) -> None:
    """Write a plate as grey TIFF (TIFF 6.0): WhiteIsZero, so that a sample is ink, 255 solid."""
    tags = {
        _PHOTOMETRIC: _WHITE_IS_ZERO,
        _DESCRIPTION: f"{ink}, plate of {task.file}: 255 is solid ink, 0 bare paper",
        _PAGE_NAME: ink,
    }
    # Pillow takes grey as light and turns it about for WhiteIsZero.
    light = Image.fromarray(np.subtract(255, plate))
    try:
        light.save(
            task.folder / name, "TIFF", compression="tiff_lzw", dpi=(ppi, ppi), tiffinfo=tags
        )
    except OSError as error:
        raise _not_written(task.folder / name, error) from None


def _write_map(task: PlatesTask, name: str, plates: Plates, limit: float | None) -> None:
    pitch = mm_per_px(task.settings.coverage.ppi(plates.grid.box))
    drawn = ink_map(reduced(plates, pitch), limit)
    ppi = MM_PER_INCH / drawn.grid.pitch
    try:
        said = PngInfo()
        said.add_text("Software", PICTURE_MARK)
        picture = with_legend(drawn)
        # The library's "optimize" takes five times as long, for 7 % less to keep.
        picture.save(task.folder / name, "PNG", dpi=(ppi, ppi), pnginfo=said)
    except OSError as error:
        raise _not_written(task.folder / name, error) from None


def _write(path: Path, data: bytes) -> None:
    try:
        path.write_bytes(data)
    except OSError as error:
        raise _not_written(path, error) from None


def _not_written(path: Path, error: OSError) -> OutputError:
    return OutputError(
        f"{path.parent.parent / path.name}: cannot be written ({error.strerror or error}); "
        "choose another place with --out"
    )
