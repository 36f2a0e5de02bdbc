"""Numbers with units: parsing, formatting, rounding."""
