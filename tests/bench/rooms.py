"""In which rooms of the house the time goes, and what our tokeniser saves."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from pypdf import PdfReader
from pypdf.generic import ContentStream, StreamObject

from prepcheck.art.pdf.tokens import operators
from prepcheck.run.gather import gather
from prepcheck.run.part import examine_part
from tests.bench.heavy import paths, write_heavy_jacket
from tests.bench.measure import where_time_goes
from tests.bench.table import ART, Bench


def rooms(bench: Bench) -> None:
    """The tokeniser, then a label and the heavy jacket by rooms."""
    heavy = bench.folder / "heavy-rooms.pdf"
    write_heavy_jacket(heavy)
    tokeniser()
    stages("a label", ART / "clear" / "label-a.pdf", "label-12in")
    stages("the heavy jacket", heavy, "jacket-12in")


def tokeniser() -> None:
    """Compare our tokeniser with pypdf's on the same 360,000 operators, in this process."""
    data = paths(639.0, 321.0).encode()
    count, ours = timed(lambda: sum(1 for _ in operators(data)))
    stream = StreamObject()
    stream.set_data(data)
    reader = PdfReader(ART / "clear" / "label-a.pdf")
    theirs_count, theirs = timed(lambda: len(ContentStream(stream, reader).operations))
    print(f"\nCutting {count:,} operators ({theirs_count:,} by pypdf) apart:")
    print(f"  ours {ours:.2f} s, pypdf's ContentStream {theirs:.2f} s, ratio {theirs / ours:.1f}")


def timed(work: Callable[[], int]) -> tuple[int, float]:
    start = time.perf_counter()
    result = work()
    return result, time.perf_counter() - start


def stages(title: str, art: Path, spec: str) -> None:
    """Say in which rooms one part spends its time, the proof's own pages left out."""
    batch = gather([art], spec=spec).batches[0]
    booked = where_time_goes(lambda: examine_part(batch.tasks[0]))
    total = sum(seconds for _, seconds in booked)
    print(f"\nWhere the time goes, {title}, in one process ({total:.2f} s):")
    for room, seconds in booked[:12]:
        print(f"  {room:32}{seconds:6.2f} s{seconds / total:7.0%}")
