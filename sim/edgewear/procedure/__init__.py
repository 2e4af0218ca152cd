"""A written procedure taken apart: single failures, faults, rescue."""
