"""Sides of a parcel or a building, kept while sheets are composed."""

from siteplan.geometry.boundary import courses
from siteplan.sheet.kept import kept

__all__ = ["sides_of"]

sides_of = kept(courses)
"""Sides of an outline as `courses` finds them: every way to arrange a sheet asks for them."""
