"""How hard the engines look, and which of several right layouts they take: one table of figures."""
