"""Papers of the stores, from plain data."""
