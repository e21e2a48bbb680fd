"""Connected groups of true cells."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def label(mask: NDArray[np.bool_], joined: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Number the groups of touching true cells (corners count) of a mask (rows, columns).

    `joined` (rows,) says whether a row touches the next one, the last one the first. Cells
    outside every group get -1; the numbers run from 0 without gaps.
    """
    rows, columns = mask.shape
    padded = np.zeros((rows, columns + 2), np.int8)
    padded[:, 1:-1] = mask
    change = np.diff(padded, axis=1)
    run_row, start = np.nonzero(change == 1)
    end = np.nonzero(change == -1)[1]
    first = np.searchsorted(run_row, np.arange(rows + 1))
    parent = list(range(len(run_row)))

    starts, ends, firsts = start.tolist(), end.tolist(), first.tolist()
    for row in np.flatnonzero(joined).tolist():
        here, here_end = firsts[row], firsts[row + 1]
        below = (row + 1) % rows
        there, there_end = firsts[below], firsts[below + 1]
        while here < here_end and there < there_end:
            if starts[here] <= ends[there] and starts[there] <= ends[here]:
                # Roots are looked for in place: with a call for each it takes half as long again.
                a, b = here, there
                while parent[a] != a:
                    parent[a] = a = parent[parent[a]]
                while parent[b] != b:
                    parent[b] = b = parent[parent[b]]
                if a < b:
                    parent[b] = a
                else:
                    parent[a] = b
            if ends[here] < ends[there]:
                here += 1
            else:
                there += 1
    roots = np.array(parent, np.int64)
    while not np.array_equal(above := roots[roots], roots):
        roots = above
    numbers = np.unique(roots, return_inverse=True)[1] if len(roots) else roots
    labels = np.full(mask.shape, -1, np.int64)
    labels[mask] = np.repeat(numbers, end - start)
    return labels
