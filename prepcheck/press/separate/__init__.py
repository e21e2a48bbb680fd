"""From a page to ink plates."""
