"""Drafts an order from what the art says of itself: every value is a guess with its reason."""

from __future__ import annotations

import json
import os
import re
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

from prepcheck.errors import UsageError
from prepcheck.intake.aside import Aside
from prepcheck.intake.evidence import sides_named
from prepcheck.intake.look import Seen, SeenPage, look_at
from prepcheck.intake.unpack import Delivered, looks_like_zip, shown, unpack
from prepcheck.order import gtin_check_digit
from prepcheck.run.beside import is_writing, not_art
from prepcheck.run.pages import pages_due
from prepcheck.sheets.digest import LiveWords
from prepcheck.sheets.paid import in_order
from prepcheck.sheets.texts import LiveTexts, compact, plain, side_in
from prepcheck.spec.load import load_spec, spec_names
from prepcheck.spec.model import Spec
from prepcheck.words import listed

_CATALOGUE = re.compile(r"\b[A-Z]{2,6}[ -]?\d{2,5}\b")
_NO_CATALOGUE = frozenset({"RPM", "SIDE", "ISRC", "EAN", "UPC", "DISC", "LP", "CD", "RGB", "CMYK"})
_ALIKE_MM = 0.25
"""Specs that miss a size by amounts this near to each other fit equally well."""
_TRACK = re.compile(
    r"^(?:[A-F]?\d{1,2}[\s.):]|[A-F]\d)|\d:\d\d|[©℗]|^(?:stereo|mono)$", re.IGNORECASE
)
"""Lines of a track list, of rights, and of the kind of cut."""
_MOST_TITLES = 8
_MOST_FILES = 500
"""Files looked at; the largest box sets have about a hundred."""
_KINDS = {"inner": "Inner bag", "obi": "Obi"}


@dataclass(frozen=True, slots=True)
class _Unit:
    """A file, or one page of it, that is a part."""

    file: Seen
    number: int | None
    page: SeenPage
    spec: Spec
    others: tuple[str, ...]
    """Specs that its size fits as well."""

    @property
    def words(self) -> tuple[LiveWords, ...]:
        if self.number is not None:
            return self.page.words
        return tuple(word for page in self.file.pages for word in page.words)

    @property
    def is_label(self) -> bool:
        return self.spec.outline.kind == "disc" and self.spec.hole is not None


@dataclass(frozen=True, slots=True)
class _Guess:
    value: str
    why: str


def draft_order(arts: Sequence[Path], folder: Path, into: Aside, jobs: int = 1) -> str:
    """Return an order file (TOML) for art, its files named from `folder`, to be corrected.

    `arts` are files, ZIP archives (opened in `into`), or folders whose art is taken, with that in
    folders below. Raises UsageError, one line, where nothing among them is a piece that is known.
    """
    files, told = _files(arts, into)
    specs = {name: load_spec(name) for name in spec_names()}
    seen = look_at(files, tuple(specs.values()), jobs) if files else []
    format_ = _format(seen, specs)
    units: list[_Unit] = []
    for file in seen:
        own = list(_units(file, specs, format_.value))
        units += own
        if not own:
            told.append(f"{file.name}: {file.why or 'its size fits no piece of this format'}")
    if not units:
        names = ", ".join(shown(str(art)) for art in arts)
        raise UsageError(
            f"{names}: nothing here is a piece that is known by its size; write the order by hand"
        )
    lines = list(_head(units, format_))
    lines += _parts(units, folder, {file.path for file in files if _is_unpacked(file)})
    lines += ["", *(f"# Left out: {_plain(line)}" for line in told)] if told else []
    return "\n".join(lines) + "\n"


def _files(arts: Sequence[Path], into: Aside) -> tuple[list[Delivered], list[str]]:
    """Return the art there is, and what is left out and why."""
    paths: list[Path] = []
    for art in arts:
        if not art.exists():
            raise UsageError(f"{art}: there is no such file; see that name and folder are right")
        inside = sorted(e for e in art.rglob("*") if e.is_file()) if art.is_dir() else [art]
        hidden = (
            any(step.startswith(".") for step in path.relative_to(art).parts) for path in inside
        )
        paths += [path for path, out in zip(inside, hidden, strict=True) if not out]
    packed = any(looks_like_zip(path) for path in paths[:_MOST_FILES])
    delivery = unpack(dict.fromkeys(paths[:_MOST_FILES]), into.folder() if packed else Path())
    told = [*map(str, delivery.refused), *delivery.notes]
    if len(paths) > _MOST_FILES:
        told.append(f"{len(paths) - _MOST_FILES} further files: only {_MOST_FILES} are looked at")
    files: list[Delivered] = []
    for file in delivery.files:
        reason = not_art(file.path)
        if reason is None:
            files.append(file)
        elif not is_writing(file.path):
            told.append(f"{file.name}: {reason}")
    return files, told


def _is_unpacked(file: Delivered) -> bool:
    """Say whether a file came out of an archive, as its name then tells."""
    return "/" in file.name


def _format(seen: Sequence[Seen], specs: dict[str, Spec]) -> _Guess:
    found: Counter[str] = Counter()
    for page in (page for file in seen for page in file.pages):
        formats = {specs[piece.spec].format for piece in page.pieces} - {None}
        if len(formats) == 1:
            found.update(f for f in formats if f is not None)
    if not found:
        return _Guess("12-inch", "nothing tells the format")
    best, count = found.most_common(1)[0]
    return _Guess(best, f"the size of {count} page{'' if count == 1 else 's'}")


def _units(file: Seen, specs: dict[str, Spec], format_: str) -> Iterator[_Unit]:
    """Yield the parts that a file is: one, or one a page where each is a piece of its own."""
    if not file.pages:
        return
    fits = [
        [p for p in page.pieces if specs[p.spec].format in (None, format_)] for page in file.pages
    ]
    if not fits[0]:
        return
    together = set.intersection(*({p.spec for p in own} for own in fits))
    one = len(fits) == 1 or any(len(specs[name].pages) >= len(fits) for name in together)
    apart = all(any(pages_due(specs[p.spec]) == 1 for p in own) for own in fits)
    for page, own in zip(file.pages, fits, strict=True):
        wanted = [p for p in own if not one or len(specs[p.spec].pages) >= len(fits)] or own
        best = [p.spec for p in wanted if p.miss <= wanted[0].miss + _ALIKE_MM]
        # Of pieces that fit alike, the one whose name stands in the file's, else the first.
        name = file.name.casefold()
        best.sort(key=lambda s: (not _named(s, name), pages_due(specs[s]) != len(fits), s))
        number = page.number if apart and not one else None
        yield _Unit(file, number, page, specs[best[0]], tuple(best[1:]))
        if number is None:
            return


def _named(spec: str, name: str) -> bool:
    return spec.partition("-")[0] in name


def _head(units: Sequence[_Unit], format_: _Guess) -> Iterator[str]:
    labels = [unit for unit in units if unit.is_label]
    catalogue = _catalogue(units)
    title, client = _titles(labels or units, units, catalogue.value)
    sides = sum(1 for _ in labels)
    discs = max(1, (sides + 1) // 2)
    speeds = Counter(s for unit in labels for s in LiveTexts(unit.words).speeds())
    usual = "45" if format_.value == "7-inch" else "33"
    speed = (
        _Guess(speeds.most_common(1)[0][0], "the labels say so")
        if speeds
        else _Guess(usual, f"usual for {format_.value}; the art does not say")
    )
    yield "# A draft, made from what the art says: every value is a guess. Correct it, then check."
    yield "[order]"
    yield f"number = {_text('DRAFT')}  # not in the art: write your order number"
    for key, guess in (("client", client), ("title", title), ("catalogue", catalogue)):
        yield f"{key} = {_text(guess.value)}  # {_plain(guess.why)}"
    yield f"format = {_text(format_.value)}  # {_plain(format_.why)}"
    why = f"{sides} label{'' if sides == 1 else 's'}" if sides else "no label among the files"
    yield f"discs = {discs}  # {why}"
    yield f"speed = {_text(speed.value)}  # {speed.why}"
    barcode = _barcode(units)
    if barcode is not None:
        yield f"barcode = {_text(barcode.value)}  # {_plain(barcode.why)}"


def _catalogue(units: Sequence[_Unit]) -> _Guess:
    found: Counter[str] = Counter()
    for unit in units:
        text = " ".join(word.text for word in unit.words)
        numbers = {m[0] for m in _CATALOGUE.finditer(" ".join(text.split()))}
        found.update(n for n in numbers if (re.split(r"[ \d-]", n)[0]) not in _NO_CATALOGUE)
    if not found:
        return _Guess("UNKNOWN", "no catalogue number can be read: write it")
    best, count = min(found.items(), key=lambda item: (-item[1], item[0]))
    return _Guess(best, f"it stands on {count} of {len(units)} parts")


def _lines(unit: _Unit, without: str) -> list[tuple[float, str]]:
    """Return what stands on a part as lines that may be titles, each with its type's height."""
    said = []
    for word in unit.words:
        text = " ".join(word.text.split())
        letters = sum(c.isalpha() for c in text)
        known = side_in(text) or LiveTexts.speeds_in(text) or compact(text) == compact(without)
        if letters >= 4 and not known and len(text) <= 120:
            said.append((word.box.height, text))
    return said


def _titles(units: Sequence[_Unit], every: Sequence[_Unit], catalogue: str) -> tuple[_Guess, ...]:
    """Return title and client: what stands on most parts and on most labels, in the largest type
    first; tracks and rights are neither."""
    readings = [LiveTexts(unit.words) for unit in every]
    found: dict[str, tuple[int, float, str]] = {}
    for unit in units:
        for tall, text in _lines(unit, catalogue):
            key = plain(text)
            if _TRACK.search(text) or (key in found and found[key][1] >= tall):
                continue
            found[key] = (sum(reading.has(text) for reading in readings), tall, text)
    # Of type of one size what stands first is named first.
    ranked = sorted(found.values(), key=lambda item: (-item[0], -round(item[1], 1)))
    guesses = [
        _Guess(text, f"it stands on {count} of {len(every)} parts") for count, _, text in ranked
    ]
    nothing = _Guess("Unknown", "cannot be read from the art: write it")
    return (*guesses[:2], nothing, nothing)[:2]


def _barcode(units: Sequence[_Unit]) -> _Guess | None:
    for unit in units:
        text = " ".join(word.text for word in unit.words)
        for match in re.finditer(r"(?<!\d)\d(?:[ -]?\d){11,12}(?!\d)", text):
            digits = re.sub(r"\D", "", match[0])
            if int(digits[-1]) == gtin_check_digit(digits[:-1]) and digits.strip("0"):
                return _Guess(digits, f"these digits stand on {unit.file.name}")
    return None


def _parts(units: Sequence[_Unit], folder: Path, unpacked: Collection[Path]) -> Iterator[str]:
    sides = _sides(units)
    names: Counter[str] = Counter()
    labels = [unit for unit in units if unit.is_label]
    head = {guess.value for guess in _titles(labels or units, units, _catalogue(units).value)}
    faces: dict[str, list[str]] = {}
    catalogue = _catalogue(units).value
    for index, unit in enumerate(units):
        side = sides.get(index)
        kind = unit.spec.name.partition("-")[0]
        name = f"Label {side.value}" if side else _KINDS.get(kind, kind.capitalize())
        names[name] += 1
        if names[name] > 1:
            name = f"{name} {names[name]}"
        path = os.path.relpath(unit.file.path, folder)
        yield ""
        yield "[[part]]"
        yield f"name = {_text(name)}"
        if side:
            yield f"side = {_text(side.value)}  # {_plain(side.why)}"
        if unit.file.path in unpacked:
            archive, _, inside = unit.file.name.partition("/")
            yield f"file = {_text(inside)}  # in {_plain(archive)}: unpack it here, or check that"
        else:
            yield f"file = {_text(shown(PurePath(path).as_posix()))}"
        if unit.number is not None:
            yield f"page = {unit.number}  # each page of the file is a piece of its own"
        size = f"{unit.page.size_mm[0]:.1f} × {unit.page.size_mm[1]:.1f} mm"
        also = f"; {listed(unit.others)} would fit as well" if unit.others else ""
        yield f"spec = {_text(unit.spec.name)}  # its size, {size}{also}"
        face = _face(unit, faces.setdefault(unit.spec.name, []))
        if face is not None:
            yield f"face = {_text(face.value)}  # {_plain(face.why)}"
        yield from _expected(unit, units, catalogue, head)
        yield from _inks(unit)


def _inks(unit: _Unit) -> Iterator[str]:
    """Yield the inks that a part is painted in, where they can be told."""
    pages = [unit.page] if unit.number is not None else unit.file.pages
    inks = dict.fromkeys(ink for page in pages for ink in page.inks or ())
    if any(page.inks is None for page in pages):
        yield "# inks: some of it is in RGB or Lab, so that the inks cannot be told"
    elif inks:
        named = ", ".join(_text(ink) for ink in in_order(inks))
        yield f"inks = [{named}]  # what its type, shapes and pictures are painted in"


def _sides(units: Sequence[_Unit]) -> dict[int, _Guess]:
    """Return the side of each label: by its type, else its file's name, else the next free one."""
    labels = [index for index, unit in enumerate(units) if unit.is_label]
    free = [chr(ord("A") + i) for i in range(2 * ((len(labels) + 1) // 2))]
    found: dict[int, _Guess] = {}
    by_type = {index: LiveTexts(units[index].words).sides() for index in labels}
    by_name = {index: sides_named(PurePath(units[index].file.name).stem) for index in labels}
    for said, why in ((by_type, "its type says so"), (by_name, "its file's name says so")):
        for index in labels:
            named = [side for side in said[index] if side in free]
            if index not in found and len(named) == 1:
                found[index] = _Guess(named[0], why)
                free.remove(named[0])
    for index in labels:
        if index not in found and free:
            found[index] = _Guess(free.pop(0), "nothing tells the side: the next that was free")
    return found


def _face(unit: _Unit, given: list[str]) -> _Guess | None:
    """Return the face of a piece of several pages of which a file holds one."""
    if pages_due(unit.spec) < 2 or len(unit.file.pages) > 1:
        return None
    name = unit.file.name.casefold()
    every = [page.name for page in unit.spec.pages]
    free = [face for face in every if face not in given] or every
    by_name = [face for face in free if face.casefold() in name]
    face = by_name[0] if by_name else free[0]
    given.append(face)
    return _Guess(face, "its file's name says so" if by_name else "the next that was free")


def _expected(unit: _Unit, units: Sequence[_Unit], catalogue: str, head: set[str]) -> Iterator[str]:
    """Yield the titles that stand on this label and on no other."""
    if not unit.is_label:
        return
    others = {
        plain(text) for one in units if one is not unit for _, text in _lines(one, catalogue)
        if one.is_label
    }  # fmt: skip
    own = dict.fromkeys(
        text
        for _, text in _lines(unit, catalogue)
        if plain(text) not in others and text not in head
    )
    if own:
        titles = ", ".join(_text(text) for text in list(own)[:_MOST_TITLES])
        yield f"expect = [{titles}]  # read here and on no other label; see that they are right"


def _text(value: str) -> str:
    """Return text as TOML writes it; JSON's strings are TOML's but for one sign."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)
