"""The site: its value objects and the readers that make them from files."""
