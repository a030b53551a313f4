"""Similar past jobs: one file a signal, their blend, and the index on disk."""
