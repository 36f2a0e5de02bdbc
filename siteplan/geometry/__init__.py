"""Pure two-dimensional helpers: no word of this package knows what a well or a trench is."""
