"""Pipes and what flows in them: sizes, fluids, friction, lengths divided evenly."""
