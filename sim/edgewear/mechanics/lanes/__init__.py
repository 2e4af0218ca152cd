"""Runs of one tape side by side: a step of eight in one stream of instructions."""
