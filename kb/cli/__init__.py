"""The commands; thin."""
