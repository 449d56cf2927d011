"""The journal: what was done, by whom, when, and nothing of it ever lost."""
