"""The cases, and the only SQL."""
