"""The parts of a report, each from a ranking."""
