"""Results become rows, text, JSON and CSV; rounding and labels live here only."""
