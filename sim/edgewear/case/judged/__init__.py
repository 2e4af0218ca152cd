"""What is said of the inputs of each run."""
