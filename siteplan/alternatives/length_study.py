"""Length required against spacing, beside what the lot holds: where they cross is the design."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.available.prepared import PreparedLot
from siteplan.demand.required import required_of
from siteplan.design.converge import settled
from siteplan.design.lay_out import capacity_of
from siteplan.errors import SitePlanError
from siteplan.layout.elements import Bore
from siteplan.preferences.table import figures_of
from siteplan.site.model import Exchanger, System
from siteplan.vocabulary.loop_types import loop_type

FACTORS: Final = figures_of("alternatives.length_study.factors")
"""Spacings studied, in parts of the one asked for."""


@dataclass(frozen=True, slots=True)
class Spaced:
    """One spacing, the length required at it, and what the lot holds of it [m].

    ``required_m`` is None where no length is enough.
    """

    spacing_m: float
    required_m: float | None
    held_m: float


def study_spacing(
    lot: PreparedLot,
    system: System,
    *,
    factors: Sequence[float] = FACTORS,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[Spaced, ...]:
    """Length required and held for each spacing; of bores the length as they are laid out there."""
    return tuple(_at(lot, system, factor, progress) for factor in factors)


def _at(
    lot: PreparedLot,
    system: System,
    factor: float,
    progress: Callable[[str], None],
) -> Spaced:
    exchanger, spacing = _spaced(lot.site.exchanger, system, factor)
    progress(f"spacing {factor:g} times")
    changed = lot.with_exchanger(exchanger)
    held = capacity_of(changed, system)
    try:
        first = required_of(exchanger, system)
        assert first is not None
        required, made = settled(changed, first, system)
    except SitePlanError:
        return Spaced(spacing, None, held)
    return Spaced(spacing, required.length_m, max(held, made.layout.capacity_m))


def _spaced(exchanger: Exchanger, system: System, factor: float) -> tuple[Exchanger, float]:
    """What is wanted with another spacing, and that [m]."""
    if loop_type(system).kind == Bore.kind:
        spacing = factor * exchanger.vertical.spacing_m
        vertical = replace(exchanger.vertical, spacing_m=spacing, spacing_most_m=None)
        return replace(exchanger, vertical=vertical), spacing
    spacing = factor * exchanger.horizontal.spacing_m
    return replace(exchanger, horizontal=replace(exchanger.horizontal, spacing_m=spacing)), spacing
