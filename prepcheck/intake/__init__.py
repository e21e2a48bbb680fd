"""Deliveries: unpacking what came, and telling which part of an order each file is."""
