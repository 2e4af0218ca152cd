"""What we know and how: every number with its evidence, and how far the model can be believed."""
