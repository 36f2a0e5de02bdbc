"""Names of a series, looked at together: most of them stand beside what they name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from siteplan.sheet.model import XY
from siteplan.sheet.place.candidates import LEAST_LED, Candidate, by_cost, led
from siteplan.sheet.place.canvas import DEAR, Canvas
from siteplan.sheet.place.exchange import Wish
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import Placer

SURELY: Final = min(LEAST_LED, DEAR)
"""A place that costs less than this is better than any that a name is led to."""


@dataclass(frozen=True, slots=True)
class SeriesName:
    """A name that stands beside a symbol, or is led away from it.

    Parameters
    ----------
    near
        Places beside it.
    spot, stand_off
        Where a leader would point to on paper, and how far from there it ends [mm].
    """

    label: Label
    near: Sequence[Candidate]
    spot: XY
    stand_off: float

    def places(self) -> list[Candidate]:
        """Places beside the symbol and those farther off, in the order of their own costs."""
        size = (self.label.width, self.label.height)
        return by_cost([*self.near, *led(self.spot, *size, stand_off=self.stand_off)])


def put_names(canvas: Canvas, names: Sequence[SeriesName]) -> None:
    """Place names one after another, as `Canvas.put` places each.

    What their places beside their symbols cost is worked out for all of them at once, and for each
    only what has come since.
    """
    ahead = _Ahead(canvas.placer, names, 0) if names else None
    for number, name in enumerate(names):
        if ahead is None or canvas.placer is not ahead.placer:
            # labels were taken up: what they covered is free again
            ahead = _Ahead(canvas.placer, names, number)
        places = _Later(name.places)
        wish = Wish(
            [(name.label, places)], canvas.set_down, led_to=[(name.spot, name.stand_off)]
        )  # fmt: skip
        place = ahead.best(number, canvas.clear(wish))
        if place is None:
            canvas.put(name.label, places)
        else:
            canvas.drawn(canvas.clear(wish), name.label, place)


class _Later(Iterable[Candidate]):
    """Places that are made when they are looked at."""

    def __init__(self, make: Callable[[], list[Candidate]]) -> None:
        self._make = make
        self._made: list[Candidate] | None = None

    def __iter__(self) -> Iterator[Candidate]:
        if self._made is None:
            self._made = self._make()
        return iter(self._made)


class _Ahead:
    """What places beside symbols cost among the ink that there was when this was made."""

    def __init__(self, placer: Placer, names: Sequence[SeriesName], first: int) -> None:
        self.placer, self._names, self._sizes = placer, names, placer.sizes()
        self._near = {k: by_cost(names[k].near) for k in range(first, len(names))}
        places = [place for some in self._near.values() for place in some]
        sizes = [
            (names[k].label.width, names[k].label.height)
            for k, some in self._near.items()
            for _ in some
        ]
        ends = np.cumsum([len(some) for some in self._near.values()])[:-1]
        costs, boxes = placer.boxes_beside(places, sizes) if places else (np.zeros(0), places)
        self._costs = dict(zip(self._near, np.split(costs, ends), strict=True))
        self._boxes = dict(zip(self._near, np.split(np.asarray(boxes), ends), strict=True))

    def best(self, number: int, wish: Wish) -> Candidate | None:
        """The cheapest place that is surely better than any farther off; None if there is none."""
        label, costs, near = self._names[number].label, self._costs[number], self._near[number]
        found = (SURELY, len(costs))
        for k in np.argsort(costs, kind="stable").tolist():
            # ink that has come since costs more and never less
            if costs[k] > found[0]:
                break
            box = self._boxes[number][k : k + 1]
            cost = float((costs[k] + self.placer.more(box, self._sizes))[0])
            if cost < SURELY and (cost, k) < found and wish.allows(label, near[k]):
                found = (cost, k)
        return near[found[1]] if found[0] < SURELY else None
