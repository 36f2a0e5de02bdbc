"""The tables of a site file, read into option values."""
