"""Invented deliveries whose answers are known, for the matching of files to orders and parts.

Orders, names and art are made up by a seed; the art is written by ReportLab, and no code is shared
with what looks into it or weighs it. Names and layouts are such as clients use: common practice,
no source.
"""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from prepcheck.book.orders import NewOrder
from prepcheck.order import OrderHead, OrderPart
from prepcheck.spec.load import load_spec

MM = 72 / 25.4
ASK = "?"
"""The answer for a file that nothing tells the part of: it must not be placed."""
SPARE = ""
"""The answer for a file that is no part of the order."""

_FIRST = ("Halden", "Marl", "Fern", "Tallow", "Quarry", "Ember", "Sedge", "Rook", "Lantern", "Moss")
_SECOND = ("Orrery", "Fields", "Hours", "Signal", "Ledger", "Tide", "Almanac", "Choir", "Mill")
_TITLES = (
    "Lamps Out at Nine", "Owl Ledger", "Small Hours", "A Rumour", "Wet Slate", "Six of Swans",
    "The Long Byre", "Cold Harbour", "Paper Boats", "Nettle Tea", "Old Salt", "Half a Moon",
)  # fmt: skip
_PREFIX = ("LFR", "TRL", "MRS", "QUA", "HVN")


@dataclass(frozen=True)
class Sent:
    """A file as it was sent, and what it is: a part's name, one for each page, or none."""

    name: str
    data: bytes
    truth: str | tuple[str, ...]
    order: str = ""
    """The order it is for, where that is not the delivery's own."""


@dataclass(frozen=True)
class Delivery:
    """A delivery: its kind, the orders in the book, the one that is named (if any), what came in
    earlier rounds and what comes now."""

    kind: str
    orders: tuple[NewOrder, ...]
    named: str | None
    files: tuple[Sent, ...]
    before: tuple[tuple[Sent, ...], ...] = ()


@dataclass
class Job:
    """An order being made up: what each of its parts says."""

    order: NewOrder
    titles: dict[str, str]
    rng: random.Random
    lines: dict[str, list[str]] = field(default_factory=dict)

    @property
    def number(self) -> str:
        return self.order.head.number

    def part(self, name: str) -> OrderPart:
        return next(part for part in self.order.parts if part.name == name)

    def art(self, name: str, *, quiet: bool = False, more: tuple[str, ...] = ()) -> bytes:
        """Return a part's art; `quiet` without any type."""
        spec = self.part(name).spec
        assert spec is not None
        lines = [] if quiet else [*self.lines[name], *more]
        return piece(spec, [lines], self.rng)


def piece(spec_name: str, pages: list[list[str]], rng: random.Random) -> bytes:
    """Return a PDF of a piece, the spec's own number of pages or those given."""
    spec = load_spec(spec_name)
    if len(pages) == 1:
        pages = pages * len(spec.pages)
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    for index, lines in enumerate(pages):
        bounds = spec.outline_of(min(index, len(spec.pages) - 1)).bounds
        wide, high = (bounds.width + 6) * MM, (bounds.height + 6) * MM
        canvas.setPageSize((wide, high))
        canvas.setTrimBox((3 * MM, 3 * MM, wide - 3 * MM, high - 3 * MM))
        canvas.setFillColorCMYK(rng.uniform(0, 0.4), rng.uniform(0, 0.3), 0.2, 0)
        canvas.rect(0, 0, wide, high, stroke=0, fill=1)
        canvas.setFillColorCMYK(0, 0, 0, 1)
        for row, line in enumerate(lines):
            canvas.setFont("Helvetica", 8)
            canvas.drawCentredString(wide / 2, high * 0.82 - 12 * row, line)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def paper(lines: list[str]) -> bytes:
    """Return a sheet of A4 with a few lines, which is no piece of any order."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(595, 842), invariant=1)
    for row, line in enumerate(lines):
        canvas.drawString(60, 780 - 14 * row, line)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def job(rng: random.Random, *, sides: str = "", files: bool | None = None) -> Job:
    """Make up an order: two to four labels, a jacket, and sometimes what goes in it."""
    size = rng.choice(("12", "12", "12", "7"))
    sides = sides or ("AB" if size == "7" else rng.choice(("AB", "AB", "ABCD")))
    prefix, number = rng.choice(_PREFIX), rng.randrange(1, 400)
    catalogue = rng.choice((f"{prefix} {number:03}", f"{prefix}{number:03}", f"{prefix}-{number}"))
    title = (
        f"{rng.choice(_FIRST)} {rng.choice(_SECOND)}: {rng.choice(_FIRST)} {rng.choice(_SECOND)}"
    )
    head = OrderHead(
        number=f"P-{rng.randrange(1000, 9999)}", client="Thornreed Records", title=title,
        catalogue=catalogue, format=f"{size}-inch", discs=max(1, len(sides) // 2),
    )  # fmt: skip
    titles = dict(zip(sides, rng.sample(_TITLES, len(sides)), strict=True))
    with_files = rng.random() < 0.5 if files is None else files
    expects = rng.random() < 0.6
    parts = []
    lines: dict[str, list[str]] = {}
    word = rng.choice(("Side {}", "Side {}", "Seite {}", "SIDE {}", "{}"))
    for side in sides:
        name = f"Label {side}"
        parts.append(
            OrderPart(
                name=name, side=side, spec=f"label-{size}in",
                file=f"label-{side.lower()}.pdf" if with_files else None,
                expect=(titles[side],) if expects else (),
            )
        )  # fmt: skip
        # Set for itself and large, a letter alone names the side; small it is read with its tracks.
        own = word.format(side) if word != "{}" else f"{side}1 {titles[side]}"
        lines[name] = [own, titles[side], catalogue]
    more = ["Jacket"]
    if size == "12":
        more += rng.sample(["Insert", "Inner bag"], rng.randrange(0, 3))
    specs = {"Jacket": f"jacket-{size}in", "Insert": "insert-12in", "Inner bag": "inner-12in"}
    for name in more:
        parts.append(
            OrderPart(
                name=name, spec=specs[name],
                file=f"{name.lower().replace(' ', '-')}.pdf" if with_files else None,
            )
        )  # fmt: skip
        lines[name] = [title, catalogue, *titles.values()] if name != "Inner bag" else [title]
    return Job(NewOrder(head, tuple(parts)), titles, rng, lines)


def helpful(one: Job, name: str, rng: random.Random) -> str:
    """Return a name that says what the file is, in one of the ways people do."""
    part = one.part(name)
    number = one.order.head.catalogue.replace(" ", rng.choice(("", "_", "-")))
    if part.side is not None:
        end = rng.choice(
            (f"side {part.side}", f"Side{part.side}", f"label_{part.side.lower()}",
             f"{part.side}-Side", f"label {part.side} final", f"Seite {part.side}")
        )  # fmt: skip
    else:
        words = {"Jacket": ("jacket", "sleeve", "Cover"), "Insert": ("insert", "lyric insert"),
                 "Inner bag": ("inner bag", "inner")}  # fmt: skip
        end = rng.choice(words[name])
    return rng.choice((f"{number}_{end}.pdf", f"{end}.pdf", f"{end} v{rng.randrange(2, 9)}.pdf"))


def nameless(rng: random.Random) -> str:
    return rng.choice(
        (f"{rng.randrange(10**5, 10**6)}.pdf", f"IMG_{rng.randrange(1000, 9999)}.pdf",
         f"Untitled-{rng.randrange(2, 99)}.pdf", f"export_{rng.randrange(10**5, 10**6)}_print.pdf")
    )  # fmt: skip


def unlike(sent: list[Sent]) -> tuple[Sent, ...]:
    """Return files of which no two are named alike, in no order."""
    kept = {one.name.casefold(): one for one in sent}
    return tuple(kept.values()) if len(kept) == len(sent) else ()


def whole(one: Job, named: Callable[[str], str], *, quiet: bool = False) -> list[Sent]:
    found = [
        Sent(named(part.name), one.art(part.name, quiet=quiet), part.name)
        for part in one.order.parts
    ]
    one.rng.shuffle(found)
    return found


def names_help(rng: random.Random) -> Delivery:
    """Names tell, and the art has no live type: it is outlined."""
    one = job(rng)
    files = whole(one, lambda name: helpful(one, name, rng), quiet=True)
    return Delivery("names help, outlined type", (one.order,), one.number, unlike(files))


def names_absent(rng: random.Random) -> Delivery:
    one = job(rng)
    files = whole(one, lambda name: nameless(rng))
    return Delivery("names say nothing", (one.order,), one.number, unlike(files))


def names_mislead(rng: random.Random) -> Delivery:
    """Each label is named as the next one is."""
    one = job(rng)
    labels = [part.name for part in one.order.parts if part.side is not None]
    after = dict(zip(labels, [*labels[1:], labels[0]], strict=True))
    files = whole(one, lambda name: helpful(one, after.get(name, name), rng))
    return Delivery("names mislead", (one.order,), one.number, unlike(files))


def sides_swapped(rng: random.Random) -> Delivery:
    """Files are named as the order has it, but two labels are the other's art."""
    one = job(rng, files=True)
    ordered = {part.name: str(part.file) for part in one.order.parts}
    a, b = rng.sample([part.name for part in one.order.parts if part.side is not None], 2)
    ordered[a], ordered[b] = ordered[b], ordered[a]
    files = whole(one, lambda name: ordered[name])
    return Delivery("sides swapped under the order's names", (one.order,), one.number,
                    unlike(files))  # fmt: skip


def parts_missing(rng: random.Random) -> Delivery:
    one = job(rng)
    files = whole(one, lambda name: rng.choice((nameless(rng), helpful(one, name, rng))))
    kept = rng.sample(files, rng.randrange(1, len(files)))
    return Delivery("parts missing", (one.order,), one.number, unlike(kept))


def spare_files(rng: random.Random) -> Delivery:
    one = job(rng)
    files = whole(one, lambda name: rng.choice((nameless(rng), helpful(one, name, rng))))
    head = one.order.head
    files.append(
        Sent("Credits and notes.pdf", paper([head.title, head.catalogue, "Side A"]), SPARE)
    )
    files.append(Sent("hype sticker.pdf", piece("sticker-round-50mm", [[head.title]], rng), SPARE))
    rng.shuffle(files)
    return Delivery("spare files", (one.order,), one.number, unlike(files))


def labels_in_one(rng: random.Random) -> Delivery:
    """All labels in one PDF, in any order where the type tells, else in the order of the sides."""
    one = job(rng)
    labels = [part.name for part in one.order.parts if part.side is not None]
    quiet = rng.random() < 0.3
    if not quiet:
        rng.shuffle(labels)
    spec = one.part(labels[0]).spec
    assert spec is not None
    pages = [[] if quiet else one.lines[name] for name in labels]
    sent = [Sent(rng.choice(("labels.pdf", "LABELS print.pdf", nameless(rng))),
                 piece(spec, pages, rng), tuple(labels))]  # fmt: skip
    rest = [part.name for part in one.order.parts if part.side is None]
    sent += [Sent(helpful(one, name, rng), one.art(name), name) for name in rest]
    return Delivery("all labels in one PDF", (one.order,), one.number, unlike(sent))


def second_round(rng: random.Random) -> Delivery:
    """Two of the files come again, corrected, under old names or new ones."""
    one = job(rng)
    first = whole(one, lambda name: helpful(one, name, rng))
    again = []
    for sent in rng.sample(first, min(2, len(first))):
        assert isinstance(sent.truth, str)
        stem = sent.name.removesuffix(".pdf")
        name = rng.choice((sent.name, f"{stem}_corrected.pdf", nameless(rng)))
        again.append(Sent(name, one.art(sent.truth, more=("corrected",)), sent.truth))
    return Delivery("round 2, two files of all", (one.order,), one.number, unlike(again),
                    (unlike(first),))  # fmt: skip


def quiet_second_round(rng: random.Random) -> Delivery:
    """Outlined art comes again under the names of the round before; one file is unchanged."""
    one = job(rng)
    first = whole(one, lambda name: helpful(one, name, rng), quiet=True)
    again = [Sent(first[0].name, first[0].data, first[0].truth)]
    for sent in first[1:3]:
        assert isinstance(sent.truth, str)
        again.append(Sent(sent.name, one.art(sent.truth, quiet=True), sent.truth))
    return Delivery("round 2, outlined, old names", (one.order,), one.number, unlike(again),
                    (unlike(first),))  # fmt: skip


def others_file(rng: random.Random) -> Delivery:
    """A label of another order lies among them."""
    one, other = job(rng), job(rng)
    if one.order.head.catalogue == other.order.head.catalogue or one.number == other.number:
        return Delivery("", (), None, ())
    files = whole(one, lambda name: rng.choice((nameless(rng), helpful(one, name, rng))))
    strange = rng.choice([part.name for part in other.order.parts if part.side is not None])
    files.append(Sent(nameless(rng), other.art(strange), SPARE))
    rng.shuffle(files)
    return Delivery("another order's file among them", (one.order, other.order), one.number,
                    unlike(files))  # fmt: skip


def no_order_named(rng: random.Random) -> Delivery:
    """No order is named; its numbers stand in the type alone. Outlined parts go with the rest."""
    one, other = job(rng), job(rng)
    if one.order.head.catalogue == other.order.head.catalogue or one.number == other.number:
        return Delivery("", (), None, ())
    files = whole(one, lambda name: nameless(rng))
    files = [Sent(f.name, f.data, f.truth, one.number) for f in files]
    return Delivery("no order named", (one.order, other.order), None, unlike(files))


def two_orders(rng: random.Random) -> Delivery:
    """Files of two orders in one delivery, none of them named."""
    one, other = job(rng), job(rng)
    if one.order.head.catalogue == other.order.head.catalogue or one.number == other.number:
        return Delivery("", (), None, ())
    files: list[Sent] = []
    for each in (one, other):
        labels = [part.name for part in each.order.parts if part.name != "Inner bag"]
        files += [Sent(nameless(rng), each.art(name), name, each.number) for name in labels]
    files.append(Sent("holiday.pdf", paper(["Greetings from the lake"]), SPARE, ASK))
    rng.shuffle(files)
    return Delivery("files of two orders", (one.order, other.order), None, unlike(files))


def nothing_tells(rng: random.Random) -> Delivery:
    """Labels without type under names that say nothing: they must be asked about."""
    one = job(rng, files=False)
    files = [
        Sent(nameless(rng), one.art(part.name, quiet=True),
             ASK if part.side is not None else part.name)
        for part in one.order.parts
    ]  # fmt: skip
    return Delivery("nothing tells the sides", (one.order,), one.number, unlike(files))


def two_versions(rng: random.Random) -> Delivery:
    """Two versions of one label: which is meant must be asked."""
    one = job(rng, files=False)
    files = whole(one, lambda name: nameless(rng))
    files = [Sent(f.name, f.data, ASK if f.truth == "Label A" else f.truth) for f in files]
    files.append(Sent(nameless(rng), one.art("Label A", more=("second version",)), ASK))
    return Delivery("two versions of one label", (one.order,), one.number, unlike(files))


def write(folder: Path, files: tuple[Sent, ...]) -> list[Path]:
    """Write the files, and return what is handed in: the files, or the folder where some lie in
    one of their own."""
    for one in files:
        (folder / one.name).parent.mkdir(parents=True, exist_ok=True)
        (folder / one.name).write_bytes(one.data)
    if any("/" in one.name for one in files):
        return [folder]
    return [folder / one.name for one in files]
