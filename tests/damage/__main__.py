"""`python -m tests.damage [COUNT] [CLASS ...]`: the table of agreement, class by class."""

from __future__ import annotations

import random
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.damage.classes import OBJECTS, STRUCTURE
from tests.damage.readers import ghostscript, poppler, prepcheck, shown

ART = Path(__file__).parents[2] / "sample_art"
NOT_SOUND = ("damaged", "empty", "wrong-kind", "locked", "encrypted", "blank")
MOST_BYTES = 70_000


def sources() -> list[Path]:
    """Return the sample PDFs that are small and sound."""
    return [
        path
        for path in sorted(ART.glob("*/*.pdf"))
        if path.stem not in NOT_SOUND and path.stat().st_size < MOST_BYTES
    ]


def main(count: int, wanted: list[str]) -> Iterator[str]:
    classes = {**STRUCTURE, **OBJECTS}
    files = sources()
    sound_pictures: dict[Path, tuple[object, object]] = {}
    totals = [0, 0, 0, 0]
    yield f"{'class':24}{'files':>6}{'both show':>11}{'read here':>11}{'neither':>9}{'we alone':>9}"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "art.pdf"
        for name in wanted or list(classes):
            both = ours = alone = neither = 0
            missed: list[str] = []
            for seed in range(count):
                rng = random.Random(f"{name} {seed}")
                source = rng.choice(files)
                if source not in sound_pictures:
                    sound_pictures[source] = poppler(source), ghostscript(source)
                path.write_bytes(classes[name](source.read_bytes(), rng))
                sound = sound_pictures[source]
                seen = (
                    shown(poppler(path), sound[0]),  # type: ignore[arg-type]
                    shown(ghostscript(path), sound[1]),  # type: ignore[arg-type]
                )
                read = prepcheck(path)
                good = not read.error and read.things > 0
                both += all(seen)
                neither += not any(seen)
                ours += all(seen) and good
                alone += good and not any(seen)
                if all(seen) and not good:
                    missed.append(
                        f"    {name} {seed} {source.name}: {read.error or 'nothing read'}"
                    )
            totals = [a + b for a, b in zip(totals, (count, both, ours, alone), strict=True)]
            yield f"{name:24}{count:6}{both:11}{ours:11}{neither:9}{alone:9}"
            yield from missed
    yield f"{'all':24}{totals[0]:6}{totals[1]:11}{totals[2]:11}{'':9}{totals[3]:9}"


if __name__ == "__main__":
    arguments = sys.argv[1:]
    number = int(arguments.pop(0)) if arguments and arguments[0].isdigit() else 10
    for line in main(number, arguments):
        print(line, flush=True)
