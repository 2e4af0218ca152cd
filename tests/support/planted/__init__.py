"""Flaws planted one at a time into procedures that pass everything."""
