"""Forms of the pages, one file per noun."""
