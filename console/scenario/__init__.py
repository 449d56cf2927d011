"""Reads a scenario folder into the frozen models: strict, and all faults of all files at once."""
