"""Ropes have a past: one SQLite file of ropes, what was done with them and what was seen.

Entries are only added, never changed; what a rope's standing is, and how worn it is, follows from
its entries each time. The record never calls a rope fit: it says what asks for setting aside or
retiring, and what was last seen by whom.
"""
