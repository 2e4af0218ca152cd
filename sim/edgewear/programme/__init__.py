"""Tests of ropes over edges: what was set up, what was seen, and what that teaches of the law."""
