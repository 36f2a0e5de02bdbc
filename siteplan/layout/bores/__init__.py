"""Fields of bores."""
