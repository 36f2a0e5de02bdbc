"""Of several drafts the cheapest when finished, with as few of them finished as that takes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol, TypeVar

LEAST: float = 1e-6
"""What a dearer draft must save to be taken [m]."""


class _Costly(Protocol):
    """Something that has a cost, as a length [m]."""

    @property
    def cost_m(self) -> float: ...


Finished_co = TypeVar("Finished_co", bound=_Costly, covariant=True)
Finished = TypeVar("Finished", bound=_Costly)


class Draft(_Costly, Protocol[Finished_co]):
    """Something whose cost is known before it is finished, and hardly ever falls by that [m]."""

    def finished(self) -> Finished_co | None:
        """The same to its end; None where that cannot be done."""


def cheapest_finished(drafts: Iterable[Draft[Finished]]) -> Finished | None:
    """The cheapest of what drafts come to; None where none comes to anything.

    Drafts are finished from the cheapest up, until the next costs as much as the best does.
    """
    best: Finished | None = None
    for draft in sorted(drafts, key=lambda each: round(each.cost_m, 6)):
        if best is not None and draft.cost_m >= best.cost_m - LEAST:
            break
        final = draft.finished()
        if final is not None and (best is None or final.cost_m < best.cost_m - LEAST):
            best = final
    return best
