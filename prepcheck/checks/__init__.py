"""One file a check, found by discovery; nothing else lists them."""
