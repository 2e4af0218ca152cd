"""A procedure taken apart, as words, page and tables."""
