"""Correcting a comparison on site: which trials fit what was measured."""
