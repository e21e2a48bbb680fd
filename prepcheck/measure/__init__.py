"""Pure functions on arrays and outlines: numbers without limits."""
