"""The demo shop: an invented history, made through the same services as the pages."""
