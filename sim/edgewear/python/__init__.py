"""The way in from Python: load, change, run, compare, sweep, replay; results as DataFrames."""
