"""`python -m prepcheck` is the same as `prepcheck`."""

from prepcheck.cli import main

if __name__ == "__main__":
    main()
