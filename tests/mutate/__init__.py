"""Sample art changed by seed, examined as a worker would: no crash, no hang, no report in part.

`python -m tests.mutate 1000 [--seed S] [--from N]` runs so many mutants; each is known by its seed
and number, and can be had again. Files that were found at fault are kept in `--keep FOLDER`.
"""
