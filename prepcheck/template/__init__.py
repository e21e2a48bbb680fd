"""Templates: a spec as a drawing to draw on, and a plant's drawing as a spec."""
