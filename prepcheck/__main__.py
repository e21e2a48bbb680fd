"""`python -m prepcheck` is the same as `prepcheck`."""

from prepcheck.cli import program

if __name__ == "__main__":
    program()
