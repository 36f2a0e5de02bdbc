"""Fields of trenches."""
