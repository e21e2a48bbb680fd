"""Orders whose labels, sleeve and insert say one thing in their own styles, and faulty twins.

Truth by construction: one record's facts are set on each part in a style of its own (case,
numbering, durations, credits, brackets, short forms, broken lines, turned and upright type), and
the faulty twin differs in one planted slip. The type is set by ReportLab and read from the PDF;
pages are not painted, since only words are judged.
"""

from __future__ import annotations

import random
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from prepcheck.art.open import open_art
from prepcheck.findings import PartResult, Severity
from prepcheck.geometry import Affine
from prepcheck.judging.on_orders import run_order_checks
from prepcheck.judging.registry import order_checks
from prepcheck.order import Order, OrderHead, OrderPart
from prepcheck.sheets.digest import Digest, LiveWords, PageDigest
from prepcheck.sheets.not_live import panel_at
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.spec.load import load_spec
from tests.checks.orders import look
from tests.truth.case import Case

CLASS = "agreement between parts"
SEEDS = 40
FAST = 3
MM = 72 / 25.4
CHECKS = ("order.agreement", "order.text", "order.catalogue", "order.swapped")

_ARTISTS = (
    "Halden Orrery", "Marrow & Pine", "Die Fährleute", "Ines Holloway Quartet", "Les Étés Gris",
    "The Thornreed Choir",
)  # fmt: skip
_TITLES = (
    "Salt Roads", "The Fern Hours", "Über den Deich", "Une rumeur d'oiseaux", "Paper Lanterns",
    "Songs for the Night Ferry", "Low Water", "Ein Jahr am Fluss",
)  # fmt: skip
_TRACKS = (
    "Lamps Out at Nine", "Owl Ledger", "Small Hours, Tall Trees", "A Rumour of Birds",
    "Cinders & Salt", "Kein Licht im Hafen", "Wren at the Sluice", "Sous les arcades",
    "Norrsken över fältet", "Tide Table", "Tide Tables", "Part One: Leaving", "Part Two: Leaving",
    "Paper Moons (Reprise)", "Paper Moons", "Dry Dock", "The Long Field, Pt. 2",
    "Ein Brief an Mara", "What the Miller Said", "Morning Bell", "Evening Bell", "Men of Ash",
    "Harvest (Live)", "Winter Count I", "Winter Count II", "Glass Harbour", "Été sans fin",
)  # fmt: skip
_LABELS = ("Lanternfold Recordings", "Thornreed Records", "Schilfrohr Tonträger")
_GUESTS = ("Mara Lindqvist", "Jon Aske", "Ewa Wrona")


@dataclass(frozen=True)
class Record:
    artist: str
    title: str
    label: str
    number: str
    barcode: str
    sides: dict[str, list[str]]
    guests: dict[str, str]


@dataclass(frozen=True)
class Line:
    text: str
    x: float
    y: float
    turn: float = 0.0
    pt: float = 8.0
    parts: int = 1
    """In how many strings it is set, one behind the other."""


Part = tuple[str, str, str | None, list[Line]]
"""A part's name, spec and side, and its lines."""


def record(rng: random.Random) -> Record:
    tracks = rng.sample(_TRACKS, 8)
    letters = "".join(rng.sample("BDFGHKLMNPRTVW", 3))
    return Record(
        rng.choice(_ARTISTS), rng.choice(_TITLES), rng.choice(_LABELS),
        f"{letters} {rng.randint(100, 989)}", "9522014000179",
        {"A": tracks[:4], "B": tracks[4:]},
        {t: rng.choice(_GUESTS) for t in tracks if rng.random() < 0.3},
    )  # fmt: skip


def cased(rng: random.Random) -> Callable[[str], str]:
    return rng.choice((str, str, str.upper, str.lower))


def joined(rng: random.Random, text: str) -> str:
    """Return a text with its '&' as it is, or as a word."""
    return text.replace("&", rng.choice(("&", "&", "and")))


def listing(rng: random.Random, r: Record, side: str, case: Callable[[str], str]) -> list[str]:
    """Return the tracks of a side in one style."""
    number = rng.choice(("{s}{n} ", "{s}{n}. ", "{n}. ", "{s}{n}\t", ""))
    length = rng.choice(("", " {t}", " ({t})", " – {t}"))
    feat = rng.choice((" feat. {g}", " (feat. {g})", " ft. {g}", " featuring {g}"))
    out = []
    for n, track in enumerate(r.sides[side], 1):
        time = f"{2 + len(track) % 6}:{10 + len(track)}"
        guest = feat.format(g=r.guests[track]) if track in r.guests else ""
        title = case(joined(rng, track) + guest)
        out.append(number.format(s=side, n=n) + title + length.format(t=time))
    return out


def suffixed(r: Record, side: str, how: str) -> str:
    ends = {"": "", "letter": f"-{side}", "joined": side, "digit": f"-{'AB'.index(side) + 1}"}
    return r.number + ends[how]


def label(rng: random.Random, r: Record, side: str, how: str, style: int) -> Part:
    own = random.Random(style)  # both labels are set alike
    case = cased(own)
    lines = [
        Line(case(r.artist), 0, 36, pt=10, parts=own.choice((1, 2))),
        Line(case(r.title), 0, 31, pt=10),
        Line(f"Side {side}", 30, 0), Line(suffixed(r, side, how), -30, 0),
        Line("33 rpm", 30, -6),
    ]  # fmt: skip
    lines += [Line(t, 0, -14 - 4 * i, pt=6) for i, t in enumerate(listing(own, r, side, case))]
    lines.append(Line(f"℗ & © 2026 {r.label}".replace("℗", "(P)"), 0, -40, pt=5))
    return f"Label {side}", "label-12in", side, lines


def jacket(rng: random.Random, r: Record) -> Part:
    case = cased(rng)
    mark = rng.choice((" · ", " – ", " / ", "   "))
    spine = mark.join((r.artist, r.title, r.number))
    # Spec jacket-12in: the back left of the spine, the front right of it.
    lines = [Line(case(spine), 0, 0, turn=-90, pt=7, parts=rng.choice((1, 1, 3)))]
    lines += [Line(case(r.artist), 160, 120, pt=24)]
    words = r.title.split()
    if len(words) > 2 and rng.random() < 0.5:
        lines += [Line(case(" ".join(words[:2])), 160, 100, pt=24)]
        lines += [Line(case(" ".join(words[2:])), 160, 91, pt=24)]
    else:
        lines += [Line(case(r.title), 160, 100, pt=24)]
    at = 80.0
    for side in "AB":
        lines.append(Line(f"Side {side}", -160, at))
        own = cased(rng)
        for text in listing(rng, r, side, own):
            at -= 6
            lines.append(Line(text, -160, at, pt=9))
        at -= 10
    digits = r.barcode
    lines.append(Line(f"{digits[0]} {digits[1:7]} {digits[7:]}", -60, -140, pt=7))
    lines.append(Line(f"{r.label} · {r.number}", -220, -140, pt=7))
    if r.guests:
        names = sorted(set(r.guests.values()))
        lines.append(Line(f"With {' and '.join(names)}", -160, -100, pt=7))
    return "Jacket", "jacket-12in", None, lines


def insert(rng: random.Random, r: Record) -> Part:
    lines = [Line(r.artist, 0, 130, pt=14), Line(r.title, 0, 120, pt=14)]
    at = 100.0
    for side in "AB":
        for track in r.sides[side]:
            lines.append(Line(track, 0, at, pt=9))
            for verse in rng.sample(_VERSES, 3):
                at -= 5
                lines.append(Line(verse, 0, at, pt=7))
            at -= 8
    lines.append(Line(f"{r.number}  {r.label}", 0, -140, pt=6))
    return "Insert", "insert-12in", None, lines


_VERSES = (
    "and all the lamps were out by ten", "we counted owls along the ledge",
    "no light, no light in any harbour", "a rumour, only, of the birds", "the ferry goes at night",
    "mornings are a smaller bell", "and evenings are a larger bell", "salt on the roads again",
)  # fmt: skip


def order_of(seed: int) -> tuple[Record, list[Part]]:
    rng = random.Random(seed)
    r = record(rng)
    how = rng.choice(("", "letter", "joined", "digit"))
    style = rng.randrange(1000)
    parts = [label(rng, r, side, how, style) for side in "AB"] + [jacket(rng, r)]
    if rng.random() < 0.6:
        parts.append(insert(rng, r))
    return r, parts


# Faults: each changes lines of one part.


def slip(rng: random.Random, text: str) -> str:
    """Return a text with one slip of the hand within a word of five letters and more."""
    words = text.split()
    long = [i for i, w in enumerate(words) if len(w) >= 5 and w.isalpha()]
    at = rng.choice(long)
    word = words[at]
    spots = [k for k in range(1, len(word) - 1) if word[k].lower() != word[k + 1].lower()]
    k = rng.choice(spots)
    kind = rng.randrange(3)
    if kind == 0:
        word = word[:k] + word[k + 1] + word[k] + word[k + 2 :]
    elif kind == 1:
        word = word[:k] + word[k + 1 :]
    else:
        word = word[:k] + word[k] + word[k:]
    words[at] = word
    return " ".join(words)


def _fit(text: str) -> bool:
    return any(len(w) >= 5 and w.isalpha() for w in text.split()) and len(text) >= 7


def with_track(rng: random.Random, r: Record, change: str) -> Record:
    """Return the record with its tracks changed, as another hand would set it."""
    side = rng.choice("AB")
    tracks = list(r.sides[side])
    at = rng.randrange(4)
    if change == "track":
        can = [i for i, t in enumerate(tracks) if _fit(t)]
        at = rng.choice(can)
        tracks[at] = slip(rng, tracks[at])
    elif change == "other":
        tracks[at] = "Hollow Crown Lane"
    elif change == "order":
        tracks[0], tracks[2] = tracks[2], tracks[0]
    else:
        del tracks[at if change == "gone" else 3]
    guests = dict(r.guests)
    for old, new in zip(r.sides[side], tracks, strict=False):
        if old in guests and change == "track":
            guests[new] = guests[old]
    return replace(r, sides=r.sides | {side: tracks}, guests=guests)


FAULTS = (
    "track", "title", "artist", "label", "suffix", "spine", "barcode", "number", "last", "other",
    "order",
)  # fmt: skip


def faulty(seed: int, fault: str) -> list[Part] | None:
    """Return the same order with one fault planted; None where it cannot be."""
    rng = random.Random(f"{seed} {fault}")
    r, parts = order_of(seed)
    if fault in ("track", "last", "other", "order"):
        back = random.Random(seed)
        record(back)
        how = back.choice(("", "letter", "joined", "digit"))
        style = back.randrange(1000)
        if fault == "track" and not any(_fit(t) for t in (*r.sides["A"], *r.sides["B"])):
            return None
        changed = with_track(rng, r, fault)
        if fault != "track":
            # Only lists that count by side can be held against each other by number.
            own = random.Random(style)
            cased(own), own.choice((1, 2))
        labels = [label(back, r, side, how, style) for side in "AB"]
        new = [*labels, jacket(back, changed)]
        if fault != "track" and not _counted(new):
            return None
        return new + parts[3:]
    if fault == "suffix":
        odd = next((p for p in parts if p[0] == "Label B"), None)
        assert odd is not None
        lines = [
            replace(line, text=line.text[:-1] + ("A" if line.text[-1] == "B" else "1"))
            if line.text.startswith(r.number) and line.text != r.number else line
            for line in odd[3]
        ]  # fmt: skip
        return None if lines == odd[3] else _with(parts, odd, lines)
    old = {"title": r.title, "artist": r.artist, "label": r.label, "spine": r.title,
           "barcode": f"{r.barcode[0]} {r.barcode[1:7]}", "number": r.number}[fault]  # fmt: skip
    if fault in ("title", "artist", "label"):
        if not _fit(old):
            return None
        new_text = slip(rng, old)
    else:
        new_text = {"spine": "Seven Kilns", "barcode": "9 522041",
                    "number": f"{r.number[:-2]}{r.number[-1]}{r.number[-2]}"}[fault]  # fmt: skip
        if new_text == old:
            return None
    where = {"spine": ["Jacket"], "barcode": ["Jacket"]}.get(fault, ["Label A", "Jacket", "Insert"])
    held = [p for p in parts if p[0] in where]
    rng.shuffle(held)
    for part in held:
        lines = []
        done = False
        for line in part[3]:
            can = not done and (fault != "spine" or line.turn)
            text = _swapped(line.text, old, new_text) if can else line.text
            done = done or text != line.text
            lines.append(replace(line, text=text))
        if done:
            return _with(parts, part, lines)
    return None


def _counted(parts: list[Part]) -> bool:
    """Say whether labels and back all number their tracks."""
    first = [[ln.text for ln in p[3]] for p in parts[:3]]
    return all(
        sum(t.startswith((f"{side}1", "1.")) for t in texts) == len(sides)
        for texts, sides in zip(first, ("A", "B", "AB"), strict=True)
        for side in sides[:1]
    )


def _swapped(text: str, old: str, new: str) -> str:
    for case in (str, str.upper, str.lower):
        if case(old) in text:
            return text.replace(case(old), case(new), 1)
    return text


def _with(parts: list[Part], old: Part, lines: list[Line]) -> list[Part]:
    return [(*p[:3], lines) if p is old else p for p in parts]


# The PDF and what is read of it.


def words_of(part: Part, folder: Path) -> tuple[LiveWords, ...]:
    """Set a part's lines on a page about its middle and read them back."""
    _, spec, _, lines = part
    outline = load_spec(spec).outline_of(0)
    bounds = outline.bounds
    path = folder / "art.pdf"
    canvas = Canvas(str(path), pagesize=(bounds.width * MM, bounds.height * MM), invariant=1)
    canvas.translate(-bounds.x0 * MM, -bounds.y0 * MM)
    for line in lines:
        canvas.saveState()
        canvas.translate(line.x * MM, line.y * MM)
        canvas.rotate(line.turn)
        canvas.setFont("Helvetica", line.pt)
        width = canvas.stringWidth(line.text, "Helvetica", line.pt)
        at = -width / 2
        mark, tab, rest = line.text.partition("\t")
        if tab:
            canvas.drawString(at, 0, mark)
            at += canvas.stringWidth(mark, "Helvetica", line.pt) + 2.5 * line.pt
        words = (rest if tab else line.text).split(" ")
        cut = [words] if line.parts == 1 or len(words) < 2 else [[w] for w in words]
        for k, group in enumerate(cut):
            text = " ".join(group) + (" " if k + 1 < len(cut) else "")
            canvas.drawString(at, 0, text)
            at += canvas.stringWidth(text, "Helvetica", line.pt)
        canvas.restoreState()
    canvas.showPage()
    canvas.save()
    content = open_art(path).pages[0].content(Affine.move(bounds.x0, bounds.y0))
    return tuple(
        LiveWords(run.text, panel_at(outline, run.box), run.box)
        for run in content.texts
        if run.box is not None and run.text.strip()
    )


def said(r: Record, parts: list[Part]) -> list[tuple[str, Severity, str]]:
    """Return what the checks of words say of an order."""
    head = OrderHead(
        number="P-1", client=r.label, title=f"{r.artist}: {r.title}", catalogue=r.number,
        format="12-inch", barcode=r.barcode,
    )  # fmt: skip
    pieces, owned = [], []
    with tempfile.TemporaryDirectory() as folder:
        for part in parts:
            name, spec, side, _ = part
            owned.append(OrderPart(name=name, file=f"{name}.pdf", side=side, spec=spec))
            page = PageDigest(1, words_of(part, Path(folder)), 0, 0.0, look())
            result = PartResult(
                name=name, file=f"{name}.pdf", sha256=name, bytes=1, spec=spec, side=side,
                recognised_by="named", pages=1, trim_mm=None, trim_found_by=None, outcomes=(),
                findings=(), measured={"inks": ("Black",)},
            )  # fmt: skip
            pieces.append(Piece(owned[-1], result, load_spec(spec), Digest((page,))))
    order = Order(order=head, part=tuple(owned))
    found = run_order_checks(OrderExam(order, tuple(pieces)), order_checks()).findings
    return [(f.check, f.severity, f.message) for f in found if f.check in CHECKS]


def cases(seed: int) -> Iterator[Case]:
    r, parts = order_of(seed)
    yield Case("sound", False, (r, parts))
    rng = random.Random(-seed - 1)
    made = [(fault, twin) for fault in FAULTS if (twin := faulty(seed, fault)) is not None]
    for fault, twin in rng.sample(made, min(3, len(made))):
        yield Case(fault, True, (r, twin))


def judge(case: Case) -> Severity | None:
    severities = {severity for _, severity, _ in said(*case.held)}
    return next((s for s in (Severity.STOP, Severity.QUERY) if s in severities), None)
