"""What a terminal of 80 columns shows."""
