"""Reading PDF: structure through pypdf, content through our own tokeniser and walk."""
