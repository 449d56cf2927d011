"""The commands: one file each, none computes a margin itself."""
