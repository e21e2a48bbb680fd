"""Specs: what the plant needs of one printed piece. Data, not code."""
