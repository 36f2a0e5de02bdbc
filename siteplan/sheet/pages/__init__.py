"""Sheets composed and put together to a set."""
