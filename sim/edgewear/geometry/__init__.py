"""Taut strings, loads and catches: plain numbers in, plain numbers out."""
