"""What digging takes: slopes, spoil, sand, and machines under power lines."""
