"""What was found of forecasts, of the next tests and of two series."""
