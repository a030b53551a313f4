"""What keeps coming back: observed against expected."""
