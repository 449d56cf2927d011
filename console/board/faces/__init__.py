"""Pure functions that turn a View into lines of text: one module for each part of the board."""
