"""Which fix holds: rates of fixes with their intervals, and whom to ask after."""
