"""Generated cases whose truth is known by construction, class by class of fault.

`python -m tests.truth` prints the table: recall and false alarms of each class. A class is a module
of this package with

- `CLASS`, its name in the table, and `SEEDS`, how many seeds it runs (30 or more),
- `cases(seed)`, which yields `Case`s, faulty ones and sound twins, varied by the seed,
- `judge(case)`, which returns the worst severity that prepcheck gave for this class, or None,
- `FAST`, how many seeds the test suite runs (all of them unless given).

The table and `test_truth.py` find modules by themselves.
"""
