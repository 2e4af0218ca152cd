"""The ranking of a comparison, computed once from its dataset."""
