"""Circuits, header pipes and flow of a layout."""
