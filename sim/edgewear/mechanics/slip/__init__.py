"""Which edges slip, and how fast."""
