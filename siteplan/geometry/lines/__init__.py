"""Lines across an area at a distance from one another: rows, bends, rings."""
