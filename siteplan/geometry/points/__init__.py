"""Points in an area at a distance from one another: packed, spread, bounded."""
