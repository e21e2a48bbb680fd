"""The desk: the plant's pages and the client's page in the browser, on the book."""
