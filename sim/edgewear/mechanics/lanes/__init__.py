"""Lanes: runs of one tape, eight side by side in one stream of instructions."""
