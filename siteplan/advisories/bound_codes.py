"""Codes of what is to be said of bounds of a book that a plan does not keep."""

from __future__ import annotations

from typing import Final

BROKEN: Final = {
    "fluid": "fluid-not-allowed", "grout": "grout-not-allowed", "pipe": "pipe-not-allowed",
    "test pressure": "test-pressure-too-low", "cover": "cover-below-book",
    "ties": "ties-too-few", "scale": "scale-not-allowed",
    "fluid temperature": "fluid-temperature-beyond",
    "return capacity": "return-takes-too-little",
    "surface return": "surface-return-forbidden",
}  # fmt: skip
"""Code of the finding that a bound is not kept."""
FLUID_NOT_ALLOWED: Final = BROKEN["fluid"]
UNSURE: Final = {
    "fluid": "fluid-needs-approval", "heat at the line": "heat-at-the-line",
    "return capacity": "return-not-tested", "surface return": "discharge-allowed",
}  # fmt: skip
"""Code of the finding that the authority has to say."""
BRIEFLY: Final = {
    "fluid-not-allowed": "not-allowed-briefly",
    "grout-not-allowed": "not-allowed-briefly",
    "pipe-not-allowed": "not-allowed-briefly",
    "test-pressure-too-low": "not-enough-briefly",
    "cover-below-book": "not-enough-briefly",
    "return-takes-too-little": "return-too-little-briefly",
    "surface-return-forbidden": "not-allowed-briefly",
}
"""Sentence of few words for the findings that stop a plan."""
