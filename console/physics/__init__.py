"""Pure functions of the physics: floats in, floats out, each with its source."""
