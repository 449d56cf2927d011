"""The margin engine: readings, plan and steps in, one Snapshot out. Pure."""
