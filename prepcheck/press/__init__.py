"""The page as the press would lay it down: pictures, plates, appearance. The only renderer."""
