"""How the arrays of a case follow from numbers, the scenario's and those of runs alike."""
