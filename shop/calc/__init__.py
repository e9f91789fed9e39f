"""Calculations: pure Python, numbers in, frozen dataclasses out; no Django."""
