"""PDFs damaged by seed, and what two independent readers and prepcheck make of them.

`python -m tests.damage 20` prints a table: poppler's pdftoppm and Ghostscript render, and
prepcheck reads, 20 files of each class.
"""
