"""The endurance board: how long the stores of a craft last, and what to do about it."""
