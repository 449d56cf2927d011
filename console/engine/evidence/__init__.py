"""What the readings so far say of the model: its factors, the level now, and changes that nobody logged."""
