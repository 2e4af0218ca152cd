"""Forecasts of tests, frozen before them and scored after; which test to make next; two series."""
