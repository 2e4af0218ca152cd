"""Limits read backwards: how far one input may go before an option misses its target."""
