"""Which version of a label stands where, and whether it stands better a little aside."""

from __future__ import annotations

from functools import partial
from typing import Final

from siteplan.sheet.place.candidates import Candidate, nudged
from siteplan.sheet.place.exchange import Choices, Wish
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import Placer

FURTHER_VERSION: Final = 2.0
"""The first version of a label reads best: each further one has to save so much by its place."""
MOST_MOVED: Final = 100.0
"""What a label that stood beside what it names may cost in the place to which another drives it."""
LEAST_SPARED: Final = 4.0
"""A label that is led and hides less than this is not moved to hide still less."""


def cheapest_of(
    placer: Placer, choices: Choices, wish: Wish, *, most: float
) -> tuple[Label, Candidate] | None:
    """Version and place of the cheapest candidate; None if all cost ``most`` or more."""
    best: tuple[Label, Candidate] | None = None
    for rank, (label, candidates) in enumerate(choices):
        more = FURTHER_VERSION * rank
        cost, place = placer.cheapest(
            candidates, label.width, label.height, most=most - more,
            allows=partial(wish.allows, label),
        )  # fmt: skip
        if place is not None:
            most, best = cost + more, (label, place)
    return best


def moved_aside(placer: Placer, wish: Wish, label: Label, place: Candidate) -> Candidate | None:
    """A place a little aside where a label that is led hides less; None: there is none.

    ``placer`` knows all ink but the label's own.
    """
    if place.leader is None:
        return None
    cost = float(placer.rate([place], label.width, label.height)[0])
    if cost < place.cost + LEAST_SPARED:
        return None
    allows = partial(wish.allows, label)
    return placer.cheapest(nudged(place), label.width, label.height, most=cost, allows=allows)[1]
