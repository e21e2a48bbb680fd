"""`python -m tests.truth [-v] [CLASS ...]`: recall and false alarms; -v names what went wrong."""

from __future__ import annotations

import sys

from tests.truth.table import HEAD, classes, outcome


def main(arguments: list[str]) -> None:
    wanted = [name for name in arguments if name != "-v"]
    print(HEAD, flush=True)
    for module in classes():
        if wanted and module.CLASS not in wanted and module.__name__.split(".")[-1] not in wanted:
            continue
        result = outcome(module, module.SEEDS)
        print(result.line, flush=True)
        if "-v" in arguments:
            for line in result.wrong:
                print("   ", line)


if __name__ == "__main__":
    main(sys.argv[1:])
