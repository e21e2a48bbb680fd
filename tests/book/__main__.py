"""Which part each file of invented deliveries is taken as, against what it is.

python -m tests.book [deliveries of each kind] [seed]
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.book.kinds import deliveries
from tests.book.placing import Score, tried


def main(each: int = 5, seed: int = 1) -> int:
    """Try so many deliveries of each kind and print what came of them."""
    score = Score()
    count = 0
    with tempfile.TemporaryDirectory() as where:
        for count, delivery in enumerate(deliveries(each, seed), 1):
            tried(delivery, Path(where) / str(count), score)
    print("\n".join(score.lines))
    kinds = dict.fromkeys([*score.right, *score.asked, *score.wrong])
    print(f"\n{'kind':<42}{'right':>7}{'asked':>7}{'wrong':>7}")
    for kind in kinds:
        print(f"{kind:<42}{score.right[kind]:>7}{score.asked[kind]:>7}{score.wrong[kind]:>7}")
    print(f"{count} deliveries: {100 * score.share:.1f} % right, {score.asked.total()} asked, "
          f"{score.wrong.total()} wrong")  # fmt: skip
    return 1 if score.wrong.total() or score.share < 0.95 else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
