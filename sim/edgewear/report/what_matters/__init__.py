"""Which inputs decide an outcome: the words, on a terminal, as a page and as a table."""
