"""Stores: parts, lots, the stock ledger, kits."""
