"""A Snapshot as text and as JSON."""
