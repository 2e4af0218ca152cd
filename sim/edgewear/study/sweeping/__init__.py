"""Studies of many runs: designs, tables, levers, the plan of a sweep."""
