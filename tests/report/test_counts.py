"""One count everywhere: console, letter, report, cover and sign-off of made-up broken orders."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from prepcheck.findings import (
    NOT_EXAMINED,
    NOT_RECEIVED,
    Finding,
    OrderFacts,
    PartResult,
    Result,
    Severity,
    shared_out,
)
from tests.report.counts import asked_in_letter, counts_of, counts_of_parts
from tests.report.results import part

FACTS = OrderFacts("P-0417", "Fernweh Tapes", "Harbour Songs", "FWT 012", "12-inch", 1, "33")
NAMES = ("Label A", "Label B", "Jacket", "Insert", "Bag")


def broken(seed: int) -> Result:
    """Return an order of 1 to 5 parts with findings of every kind at random."""
    chance = random.Random(seed)
    names = NAMES[: 1 + seed % 5]

    def finding(code: str = "made", parts: tuple[str, ...] = ()) -> Finding:
        severity = chance.choice(list(Severity))
        message = f"Fault {chance.randrange(10**6)} was found."
        return Finding("made.up", severity, message, chance.choice(("Mend it.", "Look at it.")),
                       "made up", code=code, parts=parts)  # fmt: skip

    parts = [_part(name, chance, finding) for name in names]
    of_order = tuple(
        finding(parts=tuple(chance.sample(names, chance.randint(0, len(names)))))
        for _ in range(chance.randint(0, 4))
    )
    parts = [shared_out(of_order, one) for one in parts]
    return Result("0.1.0", FACTS, tuple(parts), findings=of_order)


def _part(name: str, chance: random.Random, finding: object) -> PartResult:
    made = [finding() for _ in range(chance.randint(0, 4))]  # type: ignore[operator]
    shared = chance.random() < 0.3
    own = part(name, *made, file="labels.pdf" if shared else f"{name[-1].lower()}.pdf")
    way = chance.random()
    if way < 0.15:
        query = Finding("order.missing-part", Severity.QUERY, f"No file for {name}.", "Send it.",
                        "the order", code=NOT_RECEIVED)  # fmt: skip
        return replace(own, findings=(query,), received=False, file="", outcomes=())
    if way < 0.25:
        stop = Finding("file.unreadable", Severity.STOP, "It failed.", "Nothing is asked of you.",
                       "common practice", code=NOT_EXAMINED)  # fmt: skip
        return replace(own, findings=(stop,), pages=0)
    return replace(own, kept_from="a.json") if way < 0.35 else own


@pytest.mark.parametrize("seed", range(15))
def test_one_count_everywhere(seed: int) -> None:
    result = broken(seed)
    said = counts_of(result)
    assert len(set(said.values())) == 1, said
    assert said["report"].stops + said["report"].queries == asked_in_letter(result)
    each = counts_of_parts(result)
    assert each["sign-off"] == each["report"]
