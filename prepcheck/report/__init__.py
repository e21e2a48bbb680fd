"""The report as JSON, on the console and as a letter. Knows findings only."""
