"""What was asked the other way round: how far, what matters, which ways of rigging."""
