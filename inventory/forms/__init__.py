"""Forms of the stores pages, one file per noun."""
