"""Kinds of trench with more pipe in each metre, as a screening where trench is short."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from siteplan.available.prepared import PreparedLot
from siteplan.design.lay_out import capacity_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.site.model import Exchanger, HorizontalOptions
from siteplan.site.trench_kinds import TrenchKind, trench_kinds
from siteplan.vocabulary.loop_types import made_of


@dataclass(frozen=True, slots=True)
class Denser:
    """A kind of trench, and how much of it holds the same length of pipe.

    Parameters
    ----------
    kind
        The kind.
    length_m
        Trench of it that is needed [m].
    """

    kind: TrenchKind
    length_m: float


def denser_kind(lot: PreparedLot, required_m: float, held_m: float) -> Denser | None:
    """Kind with the least more pipe a metre of which straight rows hold enough; None: no kind.

    A screening at the same length of pipe: pipes that lie close exchange less.

    Parameters
    ----------
    lot
        The lot.
    required_m
        Trench of the site's own kind that is required [m].
    held_m
        Trench of the site's own kind that the lot takes [m]; a kind of which more is needed is
        not looked at.
    """
    wanted = lot.site.exchanger
    for denser in _denser(wanted.horizontal, required_m):
        # the length that the lot holds hardly changes with the kind: no need to lay it out
        if denser.length_m > held_m + TOLERANCE:
            continue
        changed = lot.with_exchanger(replace(wanted, horizontal=_dug_as(wanted, denser)))
        if capacity_of(changed, made_of(Trench.kind).name) >= denser.length_m - TOLERANCE:
            return denser
    return None


def _denser(options: HorizontalOptions, required_m: float) -> Iterator[Denser]:
    """Kinds with more pipe a metre than a trench has, least first; none wider than the spacing."""
    now = trench_kinds()[options.kind].pipe_per_m
    for kind in sorted(trench_kinds().values(), key=lambda kind: round(kind.pipe_per_m, 6)):
        if kind.pipe_per_m > now + TOLERANCE and kind.width_m < options.spacing_m:
            yield Denser(kind, required_m * now / kind.pipe_per_m)


def _dug_as(wanted: Exchanger, denser: Denser) -> HorizontalOptions:
    kind = denser.kind
    return replace(
        wanted.horizontal,
        kind=kind.name,
        pipes=kind.pipes,
        width_m=kind.width_m,
        depth_m=kind.depth_m,
    )
