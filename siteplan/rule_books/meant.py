"""What people write in a book where this one has another word for it."""

from __future__ import annotations

from typing import Final

from siteplan.reading import Table

KEYS: Final = {
    "minimum": 'distance = "10 ft" of a rule, least = "3 ft" of a bound',
    "minimum distance": 'distance = "10 ft"',
    "setback": 'distance = "10 ft"',
    "separation": 'distance = "10 ft"',
    "maximum": 'says = "at most" or "no deeper than", with the distance',
    "maximum distance": 'says = "at most", with the distance',
    "maximum depth": 'says = "no deeper than", distance = "20 ft"',
    "depth": 'says = "no deeper than", distance = "20 ft"',
    "to": 'from = "property line": what the distance is measured from',
    "part": 'for = "bore"',
    "parts": 'for = ["bore", "trench"]',
    "applies to": 'for = ["bore", "trench"]',
    "section": 'source = "section 4"',
    "citation": 'source = "section 4"',
    "reference": 'source = "section 4"',
    "deadline": 'due = "72 hours"',
    "time": 'due = "72 hours"',
    "text": "printed",
    "quote": "printed",
}
"""Key that people write, and what is written in its stead."""
WORDS: Final = {
    "minimum": "at least", "no closer than": "at least", "not less than": "at least",
    "maximum": "at most", "not more than": "at most", "no farther than": "at most",
    "maximum depth": "no deeper than", "no deeper": "no deeper than",
    "depth limit": "no deeper than",
    "prohibited": "not allowed", "forbidden": "not allowed", "banned": "not allowed",
    "ban": "not allowed", "approval required": "approval within", "approval": "approval within",
    "backyard only": "rear yard only", "exempt": "not regulated", "center": "centre",
    "center to center": "centre", "edge": "nearest part", "nearest edge": "nearest part",
}  # fmt: skip
"""What people write for a word of ``says`` or ``measure``, and that word."""


def judge_meant(table: Table) -> None:
    """Note keys and words that people write for ours, with ours; nothing is taken for meant."""
    for key in table.values:
        plain = " ".join(key.replace("_", " ").casefold().split())
        if key not in table.asked and plain in KEYS:
            table.has(key)
            table.fault(key, "is not a key here;", f"write {KEYS[plain]}.")


def word_meant(word: str, known: tuple[str, ...]) -> str:
    """The known word that people mean by another; empty: none is.

    Examples
    --------
    >>> word_meant("Maximum depth", ("at least", "no deeper than"))
    'no deeper than'
    """
    meant = WORDS.get(" ".join(word.casefold().split()), "")
    return meant if meant in known else ""
