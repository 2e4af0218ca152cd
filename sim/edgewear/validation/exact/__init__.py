"""Exact and published answers, each beside what the code gives."""
