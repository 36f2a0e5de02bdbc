"""Shortest ways on the ground: routes, trees, and where a machine can drive."""
