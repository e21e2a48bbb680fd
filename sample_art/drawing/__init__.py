"""How the sample art is drawn. Lengths in mm, type in points, the origin at the piece's centre."""
