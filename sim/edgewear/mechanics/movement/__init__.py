"""Movements as phases of the mover, and the loop that plays them."""
