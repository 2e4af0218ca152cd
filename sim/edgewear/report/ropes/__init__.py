"""One rope's life as a page, and lists of ropes in the terminal."""
