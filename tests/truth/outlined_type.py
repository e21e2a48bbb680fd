"""Labels whose type is turned into outlines: another side's label, another number.

Truth by construction: glyphs of open fonts, placed by `tests/outlined.py`, straight, turned and
round. Only what is read wrong counts here; that such type is asked about anyway is another test.
`python -m tests.truth.outlined_type` prints how many lines are read to the letter.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from prepcheck.findings import Severity
from prepcheck.judging.on_orders import run_order_checks
from prepcheck.judging.registry import order_checks
from prepcheck.order import Order, OrderHead, OrderPart
from prepcheck.run.answer import Task
from prepcheck.run.budget import WorkerLimits
from prepcheck.run.part import examine_part
from prepcheck.run.settings import Settings
from prepcheck.sheets.digest import LiveWords
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.spec.load import load_spec
from tests.outlined import FACES, Set, label
from tests.truth.case import Case

CLASS = "sides and numbers in outlined type"
SEEDS = 30
FAST = 1

_PATIENT = Settings(worker=WorkerLimits(seconds=3600))
_TITLES = (
    "Small Hours of the Ferry", "Lamps Out at Nine", "Kein Licht im Hafen", "Une autre rumeur",
    "The Owl Ledger", "Cinders & Salt", "Norrsken över Fältet", "Paper Moons (Edit)", "Dry Dock",
    "Sous les arcades", "Tide Tables, Part Two", "Ein Brief an Mara",
)  # fmt: skip
_HEADS = ("Halden Orrery", "Marrow & Pine", "Die Fährleute", "Thornreed")


def set_label(rng: random.Random, number: str, side: str, title: str) -> tuple[list[Set], str]:
    """Return a label's lines, and how its smaller type is set."""
    face = rng.choice(sorted(FACES))
    lines = [Set(title, 0, 34, rng.uniform(10, 15), face)]
    tracks = rng.sample(_TITLES, 4)
    low = rng.uniform(6, 8.5)
    lines += [
        Set(f"{side}{n} {track}", 0, 27 - 4.5 * n, low, face) for n, track in enumerate(tracks, 1)
    ]
    how = rng.choice(("straight", "turned", "round", "head down"))
    small = rng.uniform(6.5, 9)
    if how == "straight":
        lines += [Set(number, -27, -8, small, face), Set(f"Side {side}", 27, -8, small, face)]
    elif how == "turned":
        lines += [
            Set(number, -33, -8, small, face, turn=90),
            Set(f"Side {side}", 33, -8, small, face, turn=270),
        ]
    elif how == "round":
        lines += [
            Set(number, 0, 0, small, face, turn=rng.uniform(130, 200), radius=43),
            Set(f"Side {side}", 0, 0, small, face, rng.uniform(-20, 20), 43),
        ]
    else:
        lines += [
            Set(number, -24, -12, small, face, turn=180),
            Set(f"Side {side}", 24, -12, small, face, turn=180),
        ]
    lines.append(Set("33 rpm", 0, -26, small, face))
    rim = "© 2026 Lanternfold Recordings. All rights of the producer reserved."
    lines.append(Set(rim, 0, 0, rng.uniform(5.5, 7), face, 270, 46, False))
    return lines, how


def facts(rng: random.Random) -> tuple[OrderHead, str]:
    """Return an order's head and a number that is not its own."""
    letters = "".join(rng.sample("ABDEFGHKLMNPRSTVXZ", 3))
    digits = rng.randint(100, 998)
    wrong = digits + rng.choice((1, 10, -10))
    title = f"{rng.choice(_HEADS)}: {rng.choice(_TITLES)}"
    number = f"{letters} {digits}"
    head = OrderHead(
        number="P-1", client="Lanternfold", title=title, catalogue=number, format="12-inch"
    )
    return head, f"{letters} {wrong}"


def cases(seed: int) -> Iterator[Case]:
    rng = random.Random(seed)
    head, wrong = facts(rng)
    for what, number, side in (
        ("its own", head.catalogue, "A"), rng.choice((
            ("another number", wrong, "A"), ("another side", head.catalogue, "B"),
        )),
    ):  # fmt: skip
        lines, how = set_label(rng, number, side, head.title)
        yield Case(f"{what}, {how}, {lines[0].face}", what != "its own", (head, lines))


def seen_in(head: OrderHead, lines: Sequence[Set]) -> tuple[Severity | None, tuple[LiveWords, ...]]:
    """Return the worst that is said of side and number, and all that was read by eye."""
    pytest.importorskip("rapidocr", reason="the optical reader, prepcheck[read], is not installed")
    part = OrderPart(
        name="Label A", side="A", file="a.pdf", spec="label-12in", expect=(head.catalogue,)
    )
    order = Order(order=head, part=(part,))
    spec = load_spec("label-12in")
    with tempfile.TemporaryDirectory() as folder:
        path = label(Path(folder) / "a.pdf", lines)
        task = Task("Label A", "a.pdf", path, (spec,), "named", part, order, settings=_PATIENT)
        answer = examine_part(task)
    assert answer.proof is not None
    assert answer.digest is not None
    assert answer.digest.reader
    exam = OrderExam(order, (Piece(part, answer.proof.result, spec, answer.digest),))
    said = run_order_checks(exam, order_checks()).findings
    of = ("order.catalogue", "order.swapped", "order.speed-hole")
    wrong = {f.severity for f in said if f.check in of and f.code != "unread"}
    assert "order.text" in {f.check for f in said}, "it is asked about whatever was read"
    worst = next((s for s in (Severity.STOP, Severity.QUERY) if s in wrong), None)
    return worst, answer.digest.by_eye


def judge(case: Case) -> Severity | None:
    return seen_in(*case.held)[0]


def _plain(text: str) -> str:
    return "".join(text.casefold().split())


def main(seeds: int) -> None:
    """Print how many lines are read to the letter, blanks and case aside, by how they are set."""
    read: Counter[str] = Counter()
    there: Counter[str] = Counter()
    for seed in range(seeds):
        rng = random.Random(seed)
        head, _ = facts(rng)
        lines, _ = set_label(rng, head.catalogue, "A", head.title)
        _, by_eye = seen_in(head, lines)
        texts = [_plain(word.text) for word in by_eye]
        for line in lines:
            way = "round" if line.radius else f"turned {line.turn:g}°"
            size = "under 7 pt" if line.pt < 7 else "7 pt and more"
            for kind in ("all", way, size):
                there[kind] += 1
                read[kind] += _plain(line.words) in texts
            if _plain(line.words) not in texts:
                print(seed, line.words, line.face, f"{line.pt:.1f}", way, sep=" | ", flush=True)
    for kind in sorted(there):
        print(f"{kind:16}{read[kind]:5} of {there[kind]:5}  {read[kind] / there[kind]:.1%}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else SEEDS)
