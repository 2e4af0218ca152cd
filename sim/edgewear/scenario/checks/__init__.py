"""What must hold of a scenario before anything is rigged or run."""
