"""Tables and notes as blocks."""
