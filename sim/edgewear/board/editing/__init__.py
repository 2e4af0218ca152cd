"""A scenario under change: its file, its fields, what may be changed, and how the text follows."""
