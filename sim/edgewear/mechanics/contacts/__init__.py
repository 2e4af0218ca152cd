"""Which edges a line touches, and how it turns there, by the depth of its load."""
