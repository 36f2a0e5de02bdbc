"""The water of a pond: its bottom, and the year of its temperature."""
