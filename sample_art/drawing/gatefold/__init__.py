"""The gatefold order: two discs with all that goes with them, and its twin with faults."""
