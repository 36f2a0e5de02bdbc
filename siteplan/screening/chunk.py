"""Many lots as arrays: outlines near the origin, and what is on them and near them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.screening.scan import Integers, Shapes

Words = NDArray[np.str_]


@dataclass(frozen=True, slots=True)
class Chunk:
    """Lots, each in metres around an origin of its own.

    Parameters
    ----------
    outlines
        Outline of each lot, without holes.
    things
        Shapes on the lots and near them, one after the other; land of others within a lot is one.
    owner
        Number of the lot that each is told of, rising.
    kinds
        What each is.
    houses
        Number of the thing that is the lot's own house; -1: no house is known or assumed.
    """

    outlines: Shapes
    things: Shapes
    owner: Integers
    kinds: Words
    houses: Integers

    def __len__(self) -> int:
        return len(self.outlines)

    @property
    def ranks(self) -> Integers:
        """Number of each thing among those of its lot."""
        first = np.searchsorted(self.owner, self.owner)
        return np.arange(len(self.owner)) - first

    def only(self, lots: Integers) -> Chunk:
        """Some of the lots, rising, with what is on them."""
        number = np.full(len(self), -1, dtype=np.int64)
        number[lots] = np.arange(len(lots))
        things = np.flatnonzero(number[self.owner] >= 0)
        at = np.full(len(self.things) + 1, -1, dtype=np.int64)
        at[things] = np.arange(len(things))
        return Chunk(
            self.outlines[lots], self.things[things], number[self.owner[things]],
            self.kinds[things], at[self.houses[lots]],
        )  # fmt: skip

    def has(self, kinds: tuple[str, ...]) -> NDArray[np.bool_]:
        """Which lots have a thing of these kinds."""
        found = np.zeros(len(self), dtype=bool)
        found[self.owner[np.isin(self.kinds, kinds)]] = True
        return found

    def house_shapes(self) -> Shapes:
        """House of each lot; None where there is none."""
        shapes = np.full(len(self), None, dtype=object)
        known = self.houses >= 0
        shapes[known] = self.things[self.houses[known]]
        return shapes
