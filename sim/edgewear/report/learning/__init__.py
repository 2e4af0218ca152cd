"""Forecasts of tests, the next tests and two series, on a terminal and as a page."""
