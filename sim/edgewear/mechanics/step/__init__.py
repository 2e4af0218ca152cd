"""One step in time: stages, what is located inside it, balance, booking."""
