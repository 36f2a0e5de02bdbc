"""The header trench: its route, its ends, its section."""
