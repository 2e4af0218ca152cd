"""What worker processes and those who stop them need."""
