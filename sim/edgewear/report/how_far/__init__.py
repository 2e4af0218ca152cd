"""How far inputs may go: the words, on a terminal, as a page and as a table."""
