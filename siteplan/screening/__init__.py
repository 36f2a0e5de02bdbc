"""Many lots at once: which could hold a loop, which could not, and which have to be planned."""
