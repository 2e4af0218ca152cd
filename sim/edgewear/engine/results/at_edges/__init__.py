"""What happened at each edge: its rows, of runs played alone and of many at a time."""
