"""What each loop type that fits would take, side by side."""
