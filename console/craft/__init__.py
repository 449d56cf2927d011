"""What the craft, its plan and its procedures are: frozen models in SI."""
