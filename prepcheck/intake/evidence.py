"""What speaks for a file being a part, and against it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath

from prepcheck.geometry import Box
from prepcheck.intake.look import Seen, SeenPage
from prepcheck.intake.wanted import Wanted
from prepcheck.measure.assign import NEVER
from prepcheck.order import Order
from prepcheck.sheets.digest import LiveWords
from prepcheck.sheets.texts import LiveTexts, compact, plain
from prepcheck.words import listed

_SIZE, _SIDE, _SIDE_IN_NAME, _TEXT, _NAME, _FACE, _LIKE = 3.0, 6.0, 4.0, 4.0, 3.0, 2.0, 5.0
_ORDERED, _AS_BEFORE, _ALIKE = 3.0, 3.0, 8.0
NAMED_AS_BEFORE = "named like the round before's"
LIKE = 0.3
"""The share of words in common from which on a file is like an earlier one."""
_NAME_SHARE = 0.2
"""What a file's name still counts where its own type tells which part it is."""
_WORD = re.compile(r"[^\W_\d]+|\d+")
_COMMON = frozenset({"pdf", "tif", "tiff", "jpg", "jpeg", "png", "psd", "label", "labels", "the",
                     "final", "v", "art", "of", "and", "new"})  # fmt: skip
_SIDE_NAME = re.compile(
    r"(?:side|seite|face|lato|label|labels)[ _.-]?([a-z])(?![a-z])|(?<![a-z])([a-z])[ _.-]?side"
)
_DISC_NAME = re.compile(
    r"(?<![^\W\d_])(?:discs?|disks?|lp|records?|platte|disque|disco)[ _.#-]*([1-9])(?!\d)"
)
_GAPS = re.compile(r"[_.]+")
_ONE_LETTER_WORDS = frozenset("aeiouwyz")
"""Letters that are words of a language, such as 'a' in English and Polish, 'e' in Italian."""
_BESIDE_A_SIDE = _COMMON | {"outlined", "outlines", "print", "press", "corrected", "side", "seite",
                            "fixed", "version", "rev", "copy", "cmyk", "ok", "korr"}  # fmt: skip
_KINDS = {
    "jacket": ("jacket", "sleeve", "cover", "outer"),
    "gatefold": ("gatefold",),
    "inner": ("inner", "bag"),
    "insert": ("insert", "lyric", "lyrics", "booklet"),
    "obi": ("obi",),
    "sticker": ("sticker", "hype"),
    "label": ("label", "labels", "centre", "center"),
}


@dataclass(frozen=True, slots=True)
class Weighed:
    """How much speaks for a pair, and what, in words."""

    total: float
    reasons: tuple[str, ...]


def reading_of(file: Seen, page: SeenPage | None, number: int | None) -> LiveTexts:
    """Return the live type of a file as a whole, or of one page of it."""
    if page is None:
        return LiveTexts(())
    return LiveTexts([w for p in file.pages for w in p.words] if number is None else page.words)


def told_by_type(order: Order, reading: LiveTexts, wanted: Sequence[Wanted]) -> bool:
    """Say whether live type tells which of the parts a file is: it names one side, or carries what
    some of the parts must carry and others need not."""
    if len(reading.sides() & set(order.order.sides)) == 1 and any(w.part.side for w in wanted):
        return True
    due = [frozenset(compact(text) for text in w.part.expect) for w in wanted]
    common = frozenset.intersection(*due) if due else frozenset()
    return any(
        compact(text) not in common and reading.has(text) for w in wanted for text in w.part.expect
    )


def contradicted(
    order: Order,
    page: SeenPage | None,
    reading: LiveTexts,
    wanted: Wanted,
    others: Sequence[Wanted],
) -> bool:
    """Say whether a file is plainly not the part that its name says: it names another side, has
    the size of another of the parts, or carries what another part of this size must and not what
    it must."""
    side, sides = wanted.part.side, reading.sides() & set(order.order.sides)
    if side is not None and sides:
        return side not in sides
    specs = {spec.name for spec in wanted.specs}
    fits = set() if page is None else {piece.spec for piece in page.pieces}
    wanted_too = {spec.name for other in others if other is not wanted for spec in other.specs}
    if fits & wanted_too and not fits & specs:
        return True
    due = {compact(text) for text in wanted.part.expect}
    if any(reading.has(text) for text in due):
        return False
    return any(
        reading.has(text)
        for other in others
        if other is not wanted and specs & {spec.name for spec in other.specs}
        for text in other.part.expect
        if compact(text) not in due
    )


def weigh(
    order: Order,
    file: Seen,
    page: SeenPage | None,
    number: int | None,
    wanted: Wanted,
    reading: LiveTexts,
    *,
    told: bool = False,
) -> Weighed:
    """Weigh one file, or one page of it, against one part; `reading` is its live type, and `told`
    says that this tells which part it is, so that its name counts little."""
    share = _NAME_SHARE if told else 1.0
    said = [*_by_size(page, wanted)]
    said += [(weight * share, reason) for weight, reason in _by_name(order, file, wanted)]
    said += _by_bytes(file, wanted)
    if page is not None:
        said += [*_by_side(order, reading, wanted), *_by_text(order, reading, wanted)]
        said += _by_order_of_pages(order, file, number, reading, wanted)
        said += _by_earlier(reading, wanted)
        said += _by_barcode(order, page, reading, wanted)
    total = sum(weight for weight, _ in said)
    return Weighed(max(total, NEVER), tuple(reason for weight, reason in said if weight > 0))


_Said = tuple[float, str]


def _by_size(page: SeenPage | None, wanted: Wanted) -> Iterator[_Said]:
    if page is None:
        return
    names = {spec.name for spec in wanted.specs}
    fitting = [piece for piece in page.pieces if piece.spec in names]
    size = f"{page.size_mm[0]:.1f} × {page.size_mm[1]:.1f} mm"
    if len(wanted.specs) == 1:
        if not fitting:
            yield (-_SIZE if not page.pieces else -2 * _SIZE), ""
            return
        yield _SIZE, f"its size, {size}, fits {wanted.specs[0].title}"
        face = wanted.part.face
        if face is not None:
            index = wanted.specs[0].page_index(face)
            sizes = {
                wanted.specs[0].outline_of(i).bounds for i in range(len(wanted.specs[0].pages))
            }
            if len(sizes) > 1:
                yield (_FACE if fitting[0].face == index else -_FACE), f"of the {face}"
    elif fitting:
        kind = _kind_of(wanted)
        if kind is not None:
            right = any(piece.spec.startswith(kind) for piece in fitting)
            yield (_SIZE if right else -2 * _SIZE), f"its size, {size}, fits the {kind}"


def _kind_of(wanted: Wanted) -> str | None:
    """Return the kind of piece by a part's side or the words of its name."""
    if wanted.part.side is not None:
        return "label"
    words = set(_WORD.findall(wanted.part.name.casefold()))
    return next((kind for kind, names in _KINDS.items() if words & set(names)), None)


def _by_side(order: Order, reading: LiveTexts, wanted: Wanted) -> Iterator[_Said]:
    side = wanted.part.side
    if side is None:
        return
    named = reading.sides() & set(order.order.sides)
    if side in named:
        yield _SIDE / len(named), f"it says side {side}"
    elif named:
        yield -_SIDE, ""


def _by_name(order: Order, file: Seen, wanted: Wanted) -> Iterator[_Said]:
    stem = PurePath(file.name).stem.casefold()
    own = set(_WORD.findall(wanted.part.name.casefold()))
    if wanted.part.file is not None:
        own |= set(_WORD.findall(PurePath(wanted.part.file).stem.casefold()))
    own |= {wanted.part.face.casefold()} if wanted.part.face else set()
    own -= _COMMON
    words = set(_WORD.findall(stem))
    shared = sorted(word for word in own & words if len(word) > 1 or word.isdigit())
    if shared:
        yield _NAME * len(shared) / max(len(own), 1), f"its name says {listed(shared)}"
    if wanted.part.file is not None and _alike_named(wanted.part.file, file.name):
        yield _ORDERED, "named as in the order"
    before = wanted.earlier
    if before is not None and before.file and _alike_named(before.file, file.name):
        yield _AS_BEFORE, NAMED_AS_BEFORE
    found = sides_named(PurePath(file.name).stem, order.order.sides)
    if wanted.part.side is not None and len(found) == 1:
        right = wanted.part.side in found
        yield (
            (_SIDE_IN_NAME, f"its name says side {wanted.part.side}")
            if right
            else (-_SIDE_IN_NAME, "")
        )


def _alike_named(one: str, other: str) -> bool:
    return PurePath(one).name.casefold() == PurePath(other).name.casefold()


def _by_bytes(file: Seen, wanted: Wanted) -> Iterator[_Said]:
    """Weigh what other orders of the same record knew this very file as."""
    order = next((order for digest, order in wanted.alike if digest == file.sha256), None)
    if order is not None:
        yield _ALIKE, f"the very bytes of this part in order {order}"


def sides_named(stem: str, sides: Iterable[str] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ") -> frozenset[str]:
    """Return those sides that a file's name says: by a word for sides, else as lone letters."""
    due = frozenset(sides)
    spaced = _GAPS.sub(" ", stem)
    said = LiveTexts([LiveWords(spaced, "", Box(0.0, 0.0, 0.0, 0.0))]).sides_in_words() & due
    folded = plain(stem)
    found = said or {(a or b).upper() for a, b in _SIDE_NAME.findall(folded)} & due
    return frozenset(found or {letter.upper() for letter in _lone_letters(spaced)} & due)


def _lone_letters(name: str) -> Iterator[str]:
    """Yield letters that stand alone in a name and are no words there."""
    text = unicodedata.normalize("NFKC", name)
    for index, letter in enumerate(text):
        before, after = text[:index], text[index + 1 :]
        if not letter.isascii() or not letter.isalpha():
            continue
        if _joins(before[-1:]) or _joins(after[:1]):
            continue
        following = _WORD.match(after.lstrip(" ").casefold()) if after[:1] == " " else None
        is_word = (
            letter.casefold() in _ONE_LETTER_WORDS
            and (letter.islower() or not before.strip())
            and following is not None
            and following[0].isalpha()
            and following[0] not in _BESIDE_A_SIDE
        )
        if not is_word:
            yield letter


def _joins(sign: str) -> bool:
    """Say whether a sign makes one word with a Latin letter beside it: a digit, or a letter of a
    script with capitals, as Chinese and Japanese ones are not."""
    return sign.isdigit() or unicodedata.category(sign or " ")[0] == "M" or (
        sign.lower() != sign.upper()
    )  # fmt: skip


def _by_text(order: Order, reading: LiveTexts, wanted: Wanted) -> Iterator[_Said]:
    """Weigh the texts that this part must carry; those that all parts carry tell them apart least,
    since all are found everywhere."""
    due = [text for text in wanted.part.expect if compact(text)]
    found = [text for text in due if reading.has(text)]
    if found:
        told = listed([f"'{text}'" for text in found[:3]])
        yield _TEXT * len(found) / len(due), f"it carries {told}"
    elif due and not reading.empty:
        yield -_TEXT / 2, ""
    number = order.order.catalogue
    if not reading.empty and number not in due and reading.has(number):
        yield 0.5, f"it carries {number}"


def _by_order_of_pages(
    order: Order, file: Seen, number: int | None, reading: LiveTexts, wanted: Wanted
) -> Iterator[_Said]:
    """Pages of labels usually come in the order of the sides, of all or of the disc that the file
    is named after, where nothing else tells."""
    side, sides = wanted.part.side, order.order.sides
    if number is None or side is None or reading.sides() & set(sides):
        return
    if len(file.pages) == len(sides):
        if sides[number - 1] == side:
            yield _FACE, f"its pages come in the order of the sides, and this is page {number}"
        return
    discs = {int(disc) for disc in _DISC_NAME.findall(plain(PurePath(file.name).stem))}
    if len(discs) == 1 and len(file.pages) == 2:
        (disc,) = discs
        if sides[2 * disc - 2 : 2 * disc][number - 1 : number] == (side,):
            yield _FACE, f"its name says disc {disc}, and this is page {number}"


def _by_barcode(
    order: Order, page: SeenPage, reading: LiveTexts, wanted: Wanted
) -> Iterator[_Said]:
    """Weigh the barcode on a page, in bars or in type, against the order's number: it belongs on
    what the shop scans, and on its outside."""
    number = order.order.barcode
    if number is None or not any(
        spec.barcode is not None and spec.barcode.expected for spec in wanted.specs
    ):
        return
    bars = {code.zfill(13) for code in page.barcodes}
    if number.zfill(13) in bars or reading.has(number):
        face = wanted.part.face
        inside = face is not None and all(spec.page_index(face) for spec in wanted.specs)
        yield (-_FACE, "") if inside else (_TEXT, f"it carries the barcode {number}")
    elif bars:
        yield -_SIDE, ""


def _by_earlier(reading: LiveTexts, wanted: Wanted) -> Iterator[_Said]:
    """Weigh how much of the words is as it was in the earlier round."""
    share = likeness(reading, wanted)
    if share > LIKE:
        yield _LIKE * share, f"{100 * share:.0f} % of its words are as they were"


def likeness(reading: LiveTexts, wanted: Wanted) -> float:
    """Return how much of the words (0 to 1) a file shares with the part's file of the earlier
    round; 0 where that is not there to be seen, or either has no words."""
    one, other = _tokens(reading), words_before(wanted)
    if one == other:
        return 1.0 if one else 0.0
    one, other = one - wanted.shared, other - wanted.shared
    return len(one & other) / len(one | other) if one and other else 0.0


def with_shared(wanted: Sequence[Wanted]) -> list[Wanted]:
    """Return parts with the words that all of them had in the earlier round, where several did."""
    known = [words for one in wanted if (words := words_before(one))]
    shared = frozenset.intersection(*map(frozenset, known)) if len(known) > 1 else frozenset()
    return [replace(one, shared=shared) for one in wanted]


def words_before(wanted: Wanted) -> set[str]:
    """Return the words of the part's file of the earlier round, as far as they are known."""
    before = wanted.earlier
    if before is None or before.seen is None:
        return set()
    due = before.page or wanted.part.page
    picked = [p for p in before.seen.pages if due in (None, p.number)]
    return _tokens(LiveTexts([word for page in picked for word in page.words]))


def _tokens(reading: LiveTexts) -> set[str]:
    return set(_WORD.findall(reading.spaced))
