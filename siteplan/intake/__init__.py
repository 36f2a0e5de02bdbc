"""A lot brought in as people have it: what a file holds, and a ready site folder made from it."""
