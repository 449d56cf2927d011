"""The board's screens and dialogs."""
