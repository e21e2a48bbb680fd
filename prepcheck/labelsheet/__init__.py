"""Label art repeated on a press sheet, with the marks that drill, knife and press need."""
