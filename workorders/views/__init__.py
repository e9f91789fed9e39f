"""Every page: thin views, one service call for a write."""
