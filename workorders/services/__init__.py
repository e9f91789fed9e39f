"""Every write: keyword-only, one transaction, returns the row."""
