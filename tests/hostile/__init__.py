"""Files that ask for more than any part may take, and honest ones that ask for much.

`python -m tests.hostile [NAME ...]` writes each in full size, has it checked as a user would, and
prints the time, the greatest memory of the process tree and what was said. The tests in the suite
use smaller ones with smaller limits.
"""
