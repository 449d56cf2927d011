"""What a lead reads aloud, and the card that two people and a pencil carry on with."""
