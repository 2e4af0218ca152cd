"""What follows from entries by their dates and places: which looks count, how worn, what is due."""
