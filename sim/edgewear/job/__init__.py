"""What people do, as SimPy processes: it knows time and reactions, not physics."""
