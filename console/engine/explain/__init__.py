"""Why a figure is what it is: its equation, and every input with its source, down to readings."""
