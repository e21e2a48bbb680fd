"""The proof PDF: draws marks and results on pages; never names a check."""
