"""Job cards become cases: what was done on them, and the cause, proposed until confirmed."""
