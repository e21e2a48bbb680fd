"""What checks share in looking at a page of a piece, made once however many ask."""
