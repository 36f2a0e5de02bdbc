"""Room for a label that others bar: which of them to take up, and how to set them down anew."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.model import XY, Primitive
from siteplan.sheet.place.candidates import TAG_REACHES_MM, Candidate, by_cost, farther, led
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import HARD

Choices = Sequence[tuple[Label, Iterable[Candidate]]]
"""Versions of a label, the best first, with their candidates in the order of their costs."""
COUNTS: Final = (1, 2, 4, 8)
"""How many labels are taken up to make room for one, tried in turn."""


class NoRoomError(Exception):
    """A window has no room for names without which it is not wanted."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A label that wants a place.

    Parameters
    ----------
    choices
        Its versions, the best first, with their places in the order of their costs.
    draw
        Writes a version in a place.
    most
        What a place may not cost.
    allows
        Whether a version may stand in a place, whatever it costs.
    led_to
        What leaders of it point at, where that is known without looking at its places.
    """

    choices: Choices
    draw: Callable[[Label, Candidate], None]
    most: float = HARD
    allows: Callable[[Label, Candidate], bool] = lambda _, __: True
    led_to: Sequence[tuple[XY, float]] = ()

    def farther(self, *, fine: bool) -> Iterator[Choices]:
        """The same farther away; if ``fine`` then in many more places."""
        # what may be left out is not worth a leader across the sheet
        for finely in (False, True)[: 1 + fine] if self.most >= HARD else ():
            yield [
                (label, farther(places, (label.width, label.height), fine=finely))
                for label, places in self.choices
            ]

    @property
    def targets(self) -> Sequence[tuple[XY, float]]:
        """What leaders of it point at, and how far before it they end; none: it has none."""
        if self.led_to:
            return self.led_to
        places = (place for _, some in self.choices for place in some)
        return list(
            dict.fromkeys((place.leader, place.stand_off) for place in places if place.leader)
        )

    @property
    def target(self) -> XY | None:
        """The first of them."""
        return next((target for target, _ in self.targets), None)


def numbered(wish: Wish, number: int, draw: Callable[[Label, Candidate], None]) -> Wish | None:
    """A number in the place of a long name; None for a name that is hardly longer."""
    name = wish.choices[0][0]
    tag = replace(name, lines=(f"({number})",), small="")
    if name.width < 2 * tag.width:
        return None
    places = [
        place
        for target, off in wish.targets
        for place in led(target, tag.width, tag.height, stand_off=off, reaches=TAG_REACHES_MM)
    ]
    return Wish([(tag, by_cost(places))], draw, allows=wish.allows)


@dataclass(frozen=True, slots=True, eq=False)
class SetDown:
    """A label in its place: what was drawn, and its ink."""

    wish: Wish
    label: Label
    place: Candidate
    primitives: Sequence[Primitive]
    ink: Sequence[BaseGeometry]

    @property
    def led(self) -> bool:
        """Whether it has a leader."""
        return self.place.leader is not None


def exchanges(
    wish: Wish, labels: Sequence[SetDown], has_room: Callable[[Sequence[SetDown]], bool]
) -> Iterator[tuple[list[SetDown], list[Wish]]]:  # fmt: skip
    """Which labels to take up for another, and in what order to set down all of them.

    Those nearest to what the label points at, few at first; those with leaders first, then any.
    ``has_room``: whether the label alone has a place where those are taken up. Where it has none,
    it has none without fewer of them, nor with some of them set down anew.
    """
    target = wish.target
    if target is None:
        return
    spot = Point(target)
    near = sorted(labels, key=lambda label: min(spot.distance(shape) for shape in label.ink))
    for some in ([label for label in near if label.led], near):
        counts = [count for count in COUNTS if count < 2 * len(some)]
        if not counts or not has_room(some[: counts[-1]]):
            continue
        for count in counts:
            if count == counts[-1] or has_room(some[:count]):
                yield from _orders(wish, some[:count])


def _orders(
    wish: Wish, gone: list[SetDown]
) -> Iterator[tuple[list[SetDown], list[Wish]]]:  # fmt: skip
    """Ways to set down labels that were taken up for one more.

    The one goes first that the others bar; or those in the middle, which have to pass the outer
    ones; or these, so that they stay near to what they name.
    """
    wishes = [wish, *(label.wish for label in gone)]
    spots = [each.target or (0.0, 0.0) for each in wishes]
    middle = tuple(math.fsum(spot[axis] for spot in spots) / len(spots) for axis in (0, 1))
    ranked = sorted(range(len(spots)), key=lambda k: math.dist(spots[k], middle))
    outwards = [wishes[k] for k in ranked]
    yield gone, [wish, *(each for each in outwards if each is not wish)]
    yield gone, outwards
    yield gone, outwards[::-1]
