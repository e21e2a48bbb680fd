"""The registry of checks, and running them on pages and on orders."""
