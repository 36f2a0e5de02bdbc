"""One file per output format: translation only, no decisions."""
