"""What lies in a folder that was named: its orders, or its art where it holds no order."""

from __future__ import annotations

from pathlib import Path

from prepcheck.errors import UsageError
from prepcheck.frozen import dataclass
from prepcheck.output import is_ours
from prepcheck.run.beside import holds_files, is_order, not_art


@dataclass(frozen=True)
class Contents:
    """The orders of a folder, else its art; a line for each file that is neither."""

    orders: tuple[Path, ...] = ()
    art: tuple[Path, ...] = ()
    left_out: tuple[str, ...] = ()


def contents_of(folder: Path) -> Contents:
    """Return the orders in a folder and one level below it, else its art.

    A folder beside orders that holds art and no order is told of: nobody looks at it. Outputs of
    an earlier run are known by what stands in them. Raises UsageError where there is nothing.
    """
    try:
        entries = sorted(e for e in folder.iterdir() if not e.name.startswith("."))
        below = {
            e: sorted(s for s in e.iterdir() if not s.name.startswith("."))
            for e in entries
            if e.is_dir()
        }
    except OSError as error:
        raise UsageError(f"{folder}: cannot be read ({error.strerror})") from None
    orders = [path for path in entries if _is_order(path)]
    without: list[Path] = []
    for sub, inside in below.items():
        own = [path for path in inside if _is_order(path)]
        orders += own
        if not own and any(path.is_file() and not_art(path) is None for path in inside):
            without.append(sub)
    if orders:
        # An order above may name what lies in a folder below it.
        above = any(order.parent == folder for order in orders)
        left_out = [f"{sub}: left out: it holds art and no order file" for sub in without]
        return Contents(tuple(orders), (), () if above else tuple(left_out))
    left_out = []
    files = []
    for entry in entries:
        if not entry.is_file():
            continue
        reason = not_art(entry)
        if reason is None or holds_files(reason):
            files.append(entry)
        else:
            left_out.append(f"{entry}: left out: {reason}")
    if not files:
        raise UsageError(f"{folder}: holds neither an order file nor artwork", *left_out)
    return Contents((), tuple(files), tuple(left_out))


def _is_order(path: Path) -> bool:
    return (
        path.suffix.lower() == ".toml" and path.is_file() and not is_ours(path) and is_order(path)
    )
