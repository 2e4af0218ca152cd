"""What a scenario holds: frozen models in SI."""
