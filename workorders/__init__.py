"""Units, work orders, teardown, tests, release, warranty."""
