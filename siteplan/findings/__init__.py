"""Reasons and findings as data, and the one catalogue that words them."""
