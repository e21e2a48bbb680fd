"""How long prepcheck takes and how much memory, measured: `python -m tests.bench`."""
