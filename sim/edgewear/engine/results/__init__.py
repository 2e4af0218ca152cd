"""What a run came to, read out of its lines: outcomes, tables, heat, slings."""
