"""Where ink goes: canvas, labels, blocks."""
