"""Sections to scale."""
