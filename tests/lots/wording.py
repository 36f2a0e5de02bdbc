"""What a reader is told: reasons and findings in words."""

from siteplan.findings.model import Finding, Reason
from siteplan.findings.words import words_of
from siteplan.units.model import UnitSystem
from siteplan.units.systems import US


def in_words(what: Reason | Finding | None, unit: UnitSystem = US) -> str:
    """Sentence of a reason or finding; empty where there is none."""
    return "" if what is None else words_of(what, unit)
