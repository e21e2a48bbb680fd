"""Results made by hand, for tests of reports."""

from prepcheck.findings import (
    Finding,
    Mark,
    OrderFacts,
    Outcome,
    PartResult,
    Result,
    Severity,
    Status,
)
from prepcheck.geometry import Box

SHORT = Finding(
    check="bleed.short",
    severity=Severity.STOP,
    message="Ink reaches only 0.8 mm past the trim on 11 % of the edge.",
    fix="Extend the background 3 mm past the trim all round.",
    source="common practice",
    page=1,
    measured=0.80004,
    required=2.0,
    unit="mm",
    where=(Mark(Box(-38.30221, -32.13938, -30.0, -20.0), "0.8 mm", value=0.8),),
)
TURNED = Finding(
    check="size.rotated",
    severity=Severity.QUERY,
    message="The page is turned by 90 degrees.",
    fix="Export the page upright.",
    source="common practice",
    page=12,
    measured="90 degrees clockwise, as displayed",
    required="upright",
)
NOTE = Finding(
    check="file.conformance",
    severity=Severity.NOTE,
    message="The file claims PDF/X-4.",
    fix="Nothing to do.",
    source="ISO 15930-7",
)


def part(name: str, *findings: Finding, crashed: bool = False, file: str = "a.pdf") -> PartResult:
    outcomes = [
        Outcome(f.check, Status(f.severity.value), f.message, f.measured, f.required, f.unit)
        for f in findings
    ]
    outcomes.append(Outcome("size.trim", Status.CLEAR, "100.0 × 100.0 mm", 0.01, 0.5, "mm"))
    outcomes.append(Outcome("hole.drawn", Status.NOT_APPLICABLE, "the piece has no hole"))
    if crashed:
        outcomes.append(Outcome("text.small", Status.CRASHED, "prepcheck itself failed here"))
    return PartResult(
        name=name,
        file=file,
        sha256="0" * 64,
        bytes=1234,
        spec="label-12in",
        recognised_by="recognised by its size: TrimBox 100.0 × 100.0 mm",
        pages=1,
        trim_mm=(100.00004, 99.99951),
        trim_found_by="TrimBox",
        outcomes=tuple(outcomes),
        findings=findings,
        measured={"lowest_ppi": None, "bleed_reach_mm": -0.00001, "inks": ("Cyan", "Black")},
        side="A",
    )


def order(*parts: PartResult) -> Result:
    facts = OrderFacts("P-0417", "Fernweh Tapes", "Harbour Songs", "FWT 012", "12-inch", 1, "33")
    return Result("0.1.0", facts, parts)
