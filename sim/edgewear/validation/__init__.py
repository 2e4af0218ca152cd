"""The model held against exact answers and against what the trade has seen."""
