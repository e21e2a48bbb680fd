"""What became of an earlier file or order: the contract between those who compare and show.

Places are in mm in the piece's frame of the newer file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from prepcheck.findings import Finding, PartResult, Result, Verdict
from prepcheck.frozen import dataclass
from prepcheck.geometry import Box
from prepcheck.numbering import numbered


@dataclass(frozen=True, slots=True)
class Shift:
    """By how many mm the newer print lies off the earlier one, x right and y up.

    `aligned` where that was taken out before the two were compared.
    """

    x_mm: float
    y_mm: float
    aligned: bool

    @property
    def mm(self) -> float:
        return float((self.x_mm**2 + self.y_mm**2) ** 0.5)


@dataclass(frozen=True, slots=True)
class TurnAndScale:
    """By how many degrees the newer print is turned anticlockwise, and how large it is, of 1,
    against the earlier one.

    `aligned` where both were taken out before the two were compared.
    """

    degrees: float
    scale: float
    aligned: bool

    def __str__(self) -> str:
        words = []
        if round(abs(self.degrees), 2):
            way = "anticlockwise" if self.degrees > 0 else "clockwise"
            words.append(f"turned by {abs(self.degrees):.2f}° {way}")
        if round(abs(self.scale - 1.0), 4):
            words.append(f"scaled to {100 * self.scale:.2f} %")
        return " and ".join(words)


@dataclass(frozen=True, slots=True)
class Change:
    """A place that looks different: its box and area, and the inks that changed in it.

    `asked` where a finding of the earlier check lies there; None where nobody can tell.
    """

    box: Box
    area_mm2: float
    inks: tuple[str, ...]
    asked: bool | None = None

    @property
    def unasked(self) -> bool:
        """Whether nobody has asked for it: nothing was found there before."""
        return self.asked is False


@dataclass(frozen=True, slots=True)
class WordChange:
    """Live type that changed, as it stood and as it stands; '' for type that came or went."""

    before: str
    after: str

    def __str__(self) -> str:
        if not self.before:
            return f"'{self.after}' is new"
        if not self.after:
            return f"'{self.before}' is gone"
        return f"'{self.before}' → '{self.after}'"


@dataclass(frozen=True, slots=True)
class PageChanges:
    """What changed on one page (1-based `number` in the newer file), the largest place first.

    `places` counts all of them, where `changes` holds only the largest. `unlike` says why two
    pages could not be laid over each other; nothing is compared then.
    """

    number: int
    places: int
    area_mm2: float
    inks: tuple[str, ...]
    changes: tuple[Change, ...]
    shift: Shift | None = None
    turned: TurnAndScale | None = None
    unlike: str | None = None
    words: tuple[WordChange, ...] = ()
    another: bool = False
    """Whether hardly anything agrees: the art of another record."""

    @property
    def unasked(self) -> int:
        """How many of the places kept lie where nothing was found before."""
        return sum(1 for change in self.changes if change.unasked)

    @property
    def same(self) -> bool:
        return not self.places and self.unlike is None


@dataclass(frozen=True, slots=True)
class Fate:
    """Findings of the earlier and the newer check, told apart.

    `still` pairs a finding with what has become of it; `open` are those on what was not sent
    again, which nobody has mended.
    """

    cured: tuple[Finding, ...] = ()
    still: tuple[tuple[Finding, Finding], ...] = ()
    new: tuple[Finding, ...] = ()
    open: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class PartChanges:
    """One part then and now; `before` is None for one that is new, `after` for one left out.

    `awaited` says that the part was known before, but its file had not come.
    """

    name: str
    before: PartResult | None
    after: PartResult | None
    pages: tuple[PageChanges, ...]
    fate: Fate
    awaited: bool = False

    @property
    def same_file(self) -> bool:
        one, other = self.before, self.after
        return one is not None and other is not None and one.sha256 == other.sha256 != ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two results and what changed between them, part by part; `order` is of the order itself."""

    old: Result
    new: Result
    parts: tuple[PartChanges, ...]
    order: Fate = Fate()

    @property
    def verdict(self) -> Verdict:
        """The verdict of what is new, and of what is still open."""
        left = Verdict.of(f.severity for fate in self.fates for f in fate.open)
        return Verdict.worst([self.new.verdict, left])

    @property
    def fates(self) -> tuple[Fate, ...]:
        return (*(part.fate for part in self.parts), self.order)

    @property
    def waiting(self) -> tuple[PartResult, ...]:
        """The parts that were not sent again, with what is still open on each."""
        return tuple(
            replace(
                part.before,
                findings=part.fate.open,
                kept_from=part.before.kept_from or "what it is compared with",
            )
            for part in self.parts
            if part.after is None and part.before is not None
        )

    @property
    def standing(self) -> Result:
        """All that keeps the order from plates: the newer result, and what is still open."""
        return replace(
            self.new,
            order=self.new.order or self.old.order,
            parts=(*self.new.parts, *self.waiting),
            findings=(*self.new.findings, *self.order.open),
        )


def in_one_run(comparison: Comparison) -> Comparison:
    """Return a comparison in which all that stands is numbered as one, from 1.

    Letter, proof and report then say the same numbers. What is cured has none any more.
    """
    before = comparison.standing
    after = numbered(before)
    numbers = dict(_numbers(before.findings, after.findings))
    for part, other in zip(before.parts, after.parts, strict=True):
        numbers.update(_numbers(part.findings, other.findings))

    def told(finding: Finding) -> Finding:
        return replace(finding, number=numbers.get(id(finding), 0))

    def settled(fate: Fate) -> Fate:
        return Fate(
            tuple(replace(finding, number=0) for finding in fate.cured),
            tuple((was, told(now)) for was, now in fate.still),
            tuple(map(told, fate.new)),
            tuple(map(told, fate.open)),
        )

    new = comparison.new
    return replace(
        comparison,
        new=replace(
            new,
            parts=after.parts[: len(new.parts)],
            findings=after.findings[: len(new.findings)],
        ),
        parts=tuple(replace(part, fate=settled(part.fate)) for part in comparison.parts),
        order=settled(comparison.order),
    )


def _numbers(before: Sequence[Finding], after: Sequence[Finding]) -> list[tuple[int, int]]:
    """Return the number of each finding, told by which object it is: two may be alike."""
    return [(id(one), other.number) for one, other in zip(before, after, strict=True)]


NEAR_MM = 3.0
"""Places of a finding this near to each other are one place."""


def fate_of(
    old: Iterable[Finding],
    new: Iterable[Finding],
    *,
    sent_again: Callable[[Finding], bool] = lambda finding: True,
) -> Fate:
    """Tell which findings are cured, still there and new.

    A finding is still there where one of the same check, code and subject is on the same page and
    has a place near one of its own; or, where neither has any, is simply there. What is no longer
    found is cured only where what it concerns was `sent_again`.
    """
    left = list(new)
    pairs: list[tuple[Finding, Finding]] = []
    waiting = list(old)
    for alike in (_unchanged, _in_one_place, _of_one_thing):
        undecided = []
        for finding in waiting:
            match = next((other for other in left if alike(finding, other)), None)
            if match is None:
                undecided.append(finding)
            else:
                left.remove(match)
                pairs.append((finding, match))
        waiting = undecided
    cured = tuple(finding for finding in waiting if sent_again(finding))
    still_open = tuple(finding for finding in waiting if not sent_again(finding))
    return Fate(cured, tuple(pairs), tuple(left), still_open)


def _alike(one: Finding, other: Finding) -> bool:
    """Say whether two findings are of one kind: check, code, subject and page.

    Reports of earlier versions name no code: where one of the two has none, code and subject do
    not count.
    """
    if (one.check, one.page) != (other.check, other.page):
        return False
    named = bool(one.code and other.code)
    return not named or (one.code, one.subject) == (other.code, other.subject)


def _unchanged(one: Finding, other: Finding) -> bool:
    same = _alike(one, other) and one.measured == other.measured
    return same and (not one.where or _near(one, other))


def _in_one_place(one: Finding, other: Finding) -> bool:
    return _alike(one, other) and _near(one, other)


def _of_one_thing(one: Finding, other: Finding) -> bool:
    """Say whether two findings without places are about one thing."""
    return _alike(one, other) and not one.where and not other.where


def _near(one: Finding, other: Finding) -> bool:
    return any(
        a.box.grown(NEAR_MM).overlap(b.box) is not None for a in one.where for b in other.where
    )


def totals(comparison: Comparison) -> str:
    """Return how many findings are cured, still there and new."""
    counts = [
        sum(len(getattr(fate, name)) for fate in comparison.fates)
        for name in ("cured", "still", "new")
    ]
    left = sum(len(fate.open) for fate in comparison.fates)
    also = f", {left} still open on what was not sent again" if left else ""
    return f"Findings: {counts[0]} cured, {counts[1]} still there, {counts[2]} new{also}."


def letter_of(index: int) -> str:
    """Return what a changed place is called, by its place (0-based) in the list: numbers are those
    of findings."""
    return chr(ord("a") + index)


def page_words(page: PageChanges) -> str:
    """Return in a sentence or two what changed on a page."""
    if page.unlike is not None:
        return f"Not compared: {page.unlike}."
    words = []
    if page.another:
        words.append("Hardly anything agrees: this looks like the art of another record.")
    if page.turned is not None:
        after = ", which was taken out before comparing" if page.turned.aligned else ""
        words.append(f"All of the print is {page.turned}{after}.")
    shift = page.shift
    if shift is not None:
        across, up = (round(value, 2) + 0.0 for value in (shift.x_mm, shift.y_mm))
        moved = f"{shift.mm:.2f} mm (x {across:+.2f}, y {up:+.2f})"
        words.append(
            f"The print has shifted by {moved}, which was taken out before comparing."
            if shift.aligned
            else f"All of the print has moved by {moved}."
        )
    if page.places:
        noun = "place" if page.places == 1 else "places"
        inks = f" in {', '.join(page.inks)}" if page.inks else ""
        words.append(f"{page.places} {noun} changed, {page.area_mm2:.1f} mm² in all{inks}.")
        known = [change for change in page.changes if change.asked is not None]
        if known and page.unasked and not page.another:
            words.append(_unasked_words(page))
    else:
        words.append("Nothing else looks different." if words else "Nothing looks different.")
    if page.words:
        words.append(f"Words that changed: {'; '.join(map(str, page.words))}.")
    return " ".join(words)


def _unasked_words(page: PageChanges) -> str:
    few = page.unasked == 1
    which = f"{page.unasked} of them"
    if page.unasked == page.places:
        which = "It" if few else "All of them"
    return (
        f"{which} {'lies' if few else 'lie'} where nothing was found before: nobody asked for "
        f"{'it' if few else 'them'}."
    )
