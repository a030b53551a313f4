"""How good the tool is on a store's own past."""
