"""PDF pages and labels made from plain data."""
