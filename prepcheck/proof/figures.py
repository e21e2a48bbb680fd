"""Numbers, sizes and dates as words."""

from __future__ import annotations

from datetime import date

from prepcheck.findings import Finding, PartResult, Result, Severity, Value, Verdict, unit_behind
from prepcheck.proof.typeset import NARROW_SPACE
from prepcheck.spec.model import Spec
from prepcheck.words import rounded_as

CAUTION = (
    "This is a screen-made check, not a contract colour proof; "
    "the plant's tooling drawings and the printer decide."
)
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
VERDICT_MEANING = {
    Verdict.CLEAR: "Nothing was found that keeps this from going to plates.",
    Verdict.QUERY: "Something needs a decision before this can go to plates.",
    Verdict.STOP: "Something must be corrected before plates are made.",
}
SEVERITY_MEANING = {
    Severity.STOP: "must be corrected",
    Severity.QUERY: "must be decided",
    Severity.NOTE: "good to know",
}


def number(value: float, places: int = 1) -> str:
    """Return a number with at most `places` decimals and a true minus sign."""
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("0", "-0") else text.replace("-", "−")


def quantity(value: Value | None, unit: str) -> str:
    """Return a measured or required value with its unit; words stay as they are."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    places = {"ppi": 0, "%": 0, "px": 0}.get(unit, 1)
    if places and abs(value) < 1:
        places = 2
    shown = number(value, places)
    noun = unit_behind(shown, unit)
    return shown + (NARROW_SPACE + noun if noun else "")


def as_worded(value: Value | None, unit: str, message: str) -> str:
    """Return a value with its unit, rounded as a message that names it rounds it.

    One number is not to stand beside itself in two roundings. What the message does not name, or
    names in words, is shown as in `quantity`.
    """
    if not isinstance(value, int | float) or not unit:
        return quantity(value, unit)
    shown = rounded_as(value, unit, message)
    if shown is None:
        return quantity(value, unit)
    sign = "−" if value < 0 and float(shown) else ""
    return f"{sign}{shown}{NARROW_SPACE}{unit_behind(shown, unit)}"


def millimetres(*lengths: float) -> str:
    """Return lengths in mm, several joined by a multiplication sign."""
    return " × ".join(number(length) for length in lengths) + f"{NARROW_SPACE}mm"


def area_words(mm2: float) -> str:
    """Return an area in mm², or in cm² from 100 cm² on."""
    if mm2 >= 1e4:
        return f"{number(mm2 / 100, 0)}{NARROW_SPACE}cm²"
    return f"{number(mm2, 0 if mm2 >= 10 else 1)}{NARROW_SPACE}mm²"


def scale_words(denominator: float) -> str:
    """Return a drawing's scale."""
    return "scale 1:1, true size" if denominator == 1 else f"scale 1:{number(denominator, 2)}"


def size_words(count: int) -> str:
    """Return a file's size."""
    for unit, step in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if count >= step:
            return f"{number(count / step)}{NARROW_SPACE}{unit}"
    return f"{count}{NARROW_SPACE}bytes"


def grouped(digest: str) -> str:
    """Return a hexadecimal digest in groups of eight."""
    return " ".join(digest[i : i + 8] for i in range(0, len(digest), 8))


def day(when: date) -> str:
    """Return a date that cannot be read in two ways."""
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}"


def counted(count: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def verdict_meaning(result: Result) -> str:
    """Return what an order's verdict means; where only a check failed, nobody is asked."""
    found = Verdict.of(finding.severity for finding in result.every)
    if result.crashed and found is Verdict.CLEAR:
        return "Nothing was found so far, but not everything could be judged."
    return VERDICT_MEANING[result.verdict]


def tally(findings: tuple[Finding, ...]) -> str:
    """Return how many findings there are of each severity."""
    plural = {Severity.STOP: "stops", Severity.QUERY: "queries", Severity.NOTE: "notes"}
    parts = [
        counted(count, severity.value, plural[severity])
        for severity in Severity
        if (count := sum(1 for f in findings if f.severity is severity))
    ]
    return ", ".join(parts) or "no findings"


def found_in(part: PartResult) -> str:
    """Return how much was found in a part, and that it is not all where a check failed."""
    return f"{tally(part.every)}{', incomplete' if part.crashed else ''}"


def titled(name: str, spec: Spec | None, page_index: int) -> str:
    """Return a part's name with the page's (0-based) where the piece has several.

    A part that is called after its page already is not called so twice.
    """
    if spec is None or len(spec.pages) < 2:
        return name
    page = spec.pages[min(page_index, len(spec.pages) - 1)].name
    return name if name.casefold().endswith(page.casefold()) else f"{name}, {page}"
