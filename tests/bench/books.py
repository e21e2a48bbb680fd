"""A book of ten thousand orders and sixty thousand findings: what the board and a story cost."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from sqlalchemy import insert

from prepcheck.book import models
from prepcheck.book.book import Book, open_book
from prepcheck.book.findings import stand_of
from prepcheck.book.stored import to_json
from prepcheck.book.when import now, stamp
from tests.bench.measure import run
from tests.bench.table import Bench
from tests.book.orders import PARTS, finding

ORDERS = 10_000
FINDINGS = 6
_AT = stamp(now())
_HEAD = '{"format":"12-inch","discs":1,"speed":"33","quantity":null}'
_CHECKS = ("bleed.short", "text.small", "line.thin", "ink.total", "hole.clearance", "colour.space")


def fill(book: Book, orders: int = ORDERS) -> None:
    """Fill a book with orders of three parts and one round each, as its steps would.

    The rows are written at once: steps would take an hour. The journal is left as it is.
    """
    kept = book.store.keep_bytes(b"art")
    found = [finding(check, "query", "", float(i)) for i, check in enumerate(_CHECKS)]
    data = [(to_json(one), stand_of(one)) for one in found]
    ids = range(1, orders + 1)
    with book.database.writing() as session:
        session.add(models.ContentRow(digest=kept.digest, bytes=kept.bytes, kept_at=_AT))
        session.flush()

        def put(model: type[models.Base], rows: list[dict[str, object]]) -> None:
            session.execute(insert(model), rows)

        put(models.OrderRow, [_order(i) for i in ids])
        put(
            models.PartRow,
            [
                {
                    "id": 3 * (i - 1) + k + 1,
                    "order_id": i,
                    "position": k,
                    "name": name,
                    "side": None,
                    "data": f'{{"name":"{name}","file":"f{k}.pdf"}}',
                    "dropped": False,
                    "verdict": "query",
                }
                for i in ids
                for k, name in enumerate(PARTS)
            ],
        )
        put(
            models.DeliveryRow,
            [
                {
                    "id": i,
                    "order_id": i,
                    "round": 1,
                    "state": "examined",
                    "came_at": _AT,
                    "sender": "them",
                    "way": "by command",
                    "note": "",
                }
                for i in ids
            ],
        )
        put(
            models.FileRow,
            [
                {
                    "id": 3 * (i - 1) + k + 1,
                    "delivery_id": i,
                    "name": f"f{k}.pdf",
                    "digest": kept.digest,
                    "note": "",
                    "asked": False,
                }
                for i in ids
                for k in range(3)
            ],
        )
        put(
            models.PlacementRow,
            [
                {
                    "file_id": n,
                    "part_id": n,
                    "page": None,
                    "why": "named so",
                    "by": None,
                    "at": _AT,
                    "withdrawn": False,
                }
                for n in range(1, 3 * orders + 1)
            ],
        )
        put(
            models.ExaminationRow,
            [
                {
                    "id": i,
                    "order_id": i,
                    "round": 1,
                    "turn": 1,
                    "at": _AT,
                    "version": "1",
                    "verdict": "query",
                    "crashed": False,
                    "result": kept.digest,
                    "report": kept.digest,
                    "proof": None,
                }
                for i in ids
            ],
        )
        put(
            models.FindingRow,
            [
                {
                    "id": FINDINGS * (i - 1) + k + 1,
                    "order_id": i,
                    "part_id": 3 * (i - 1) + k % 3 + 1,
                    "number": k + 1,
                    "check": found[k].check,
                    "severity": "query",
                    "state": "there",
                    "page": 1,
                    "message": found[k].message,
                    "fix": "do",
                    "stand": data[k][1],
                    "first_round": 1,
                    "last_round": 1,
                }
                for i in ids
                for k in range(FINDINGS)
            ],
        )
        put(models.SightingRow, [
            {"finding_id": FINDINGS * (i - 1) + k + 1, "examination_id": i, "data": data[k][0]}
            for i in ids for k in range(FINDINGS)
        ])  # fmt: skip


def _order(number: int) -> dict[str, object]:
    return {
        "id": number, "number": f"TR-{number:05}", "client": f"Client {number % 97}",
        "title": f"Record {number}", "catalogue": f"TRL {number}", "head": _HEAD, "made_at": _AT,
        "due": f"2026-{number % 12 + 1:02}-{number % 28 + 1:02}", "round": 1, "parts": 3,
        "received": 3, "clear": 0, "open": FINDINGS,
        "waiting_for": ("client", "us", "plant")[number % 3], "waiting_why": "6 open findings",
        "waiting_since": _AT,
    }  # fmt: skip


def books(bench: Bench) -> None:
    """Print what the board and a story take, as calls and as commands."""
    where = bench.folder / "book"
    book = open_book(where)
    began = time.perf_counter()
    fill(book)
    print(f"\nA book of {ORDERS} orders, {ORDERS * FINDINGS} findings on SQLite "
          f"(filled in {time.perf_counter() - began:.1f} s)")  # fmt: skip
    calls: dict[str, Callable[[], object]] = {
        "orders(), all": book.orders,
        "orders(like one client)": lambda: book.orders(like="Client 7"),
        "orders(), first 50": lambda: book.orders(most=50),
        "story()": lambda: book.story("TR-05000"),
    }
    for name, call in calls.items():
        call()
        times = []
        for _ in range(5):
            began = time.perf_counter()
            call()
            times.append(time.perf_counter() - began)
        print(f"  {name:<28} {min(times):6.3f} s")
        bench.keep(name, seconds=min(times))
    book.close()
    command = [sys.executable, "-m", "prepcheck"]
    for words in (["--version"], ["orders"], ["orders", "--json"], ["show", "TR-05000"]):
        costs = [run([*command, *words, *(["--book", str(where)] if len(words[0]) < 9 else [])])
                 for _ in range(3)]  # fmt: skip
        best = min(costs, key=lambda cost: cost.cpu)
        print(
            f"  prepcheck {' '.join(words):<22} {best.wall:6.2f} s, {best.cpu:.2f} s of processor"
        )
        bench.keep(" ".join(words), wall=best.wall, cpu=best.cpu)
