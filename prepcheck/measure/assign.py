"""The best assignment of rows to columns, all at once."""

from __future__ import annotations

from collections.abc import Sequence

NEVER = -1e6
"""Value of a pair that is out of the question."""


def best_assignment(values: Sequence[Sequence[float]]) -> list[int | None]:
    """Return for each row its column, or None, so that the sum of the values is greatest.

    `values[row][column]` is what a pair is worth; leaving a row without a column is worth 0.
    Hungarian method with potentials (Kuhn 1955, Munkres 1957), of cubic cost.
    """
    rows = len(values)
    columns = len(values[0]) if rows else 0
    if not rows or not columns:
        return [None] * rows
    # A column of its own for each row stands for 'none'.
    cost = [[-max(v, NEVER) for v in row] + [0.0] * rows for row in values]
    width = columns + rows
    row_price = [0.0] * (rows + 1)
    column_price = [0.0] * (width + 1)
    taken_by = [0] * (width + 1)
    for row in range(1, rows + 1):
        taken_by[0] = row
        at = 0
        least = [float("inf")] * (width + 1)
        came_from = [0] * (width + 1)
        used = [False] * (width + 1)
        while taken_by[at]:
            used[at] = True
            current, delta, following = taken_by[at], float("inf"), 0
            for column in range(1, width + 1):
                if used[column]:
                    continue
                reduced = cost[current - 1][column - 1] - row_price[current] - column_price[column]
                if reduced < least[column]:
                    least[column], came_from[column] = reduced, at
                if least[column] < delta:
                    delta, following = least[column], column
            for column in range(width + 1):
                if used[column]:
                    row_price[taken_by[column]] += delta
                    column_price[column] -= delta
                else:
                    least[column] -= delta
            at = following
        while at:
            taken_by[at] = taken_by[came_from[at]]
            at = came_from[at]
    found: list[int | None] = [None] * rows
    for column in range(1, columns + 1):
        if taken_by[column] and values[taken_by[column] - 1][column - 1] > 0:
            found[taken_by[column] - 1] = column - 1
    return found


def worth(values: Sequence[Sequence[float]], found: Sequence[int | None]) -> float:
    """Return what an assignment is worth."""
    return sum(values[row][column] for row, column in enumerate(found) if column is not None)
