"""Use cases: open the store, walk the rooms, return one result."""
