"""Which of the loop types tried is drawn."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.design.evaluate import Trial
from siteplan.design.scattered import is_scattered
from siteplan.site.loop_options import is_placed
from siteplan.site.model import Exchanger, System


def with_room(trials: Sequence[Trial]) -> list[Trial]:
    """Trials that fit; where none does, those that the lot has room for but for their fluid."""
    fitting = [trial for trial in trials if trial.fits]
    return fitting or [trial for trial in trials if trial.has_room]


def asked_for(exchanger: Exchanger, trials: Sequence[Trial], wanted: System | None) -> list[Trial]:
    """Trials of the loop type asked for; else of those whose places somebody gave; else all.

    Who gives places asks about these, whatever else fits.
    """
    placed = [trial for trial in trials if is_placed(exchanger, trial.system)]
    return [trial for trial in trials if wanted == trial.system] or placed or list(trials)


def first_dug(exchanger: Exchanger, trials: Sequence[Trial]) -> Trial | None:
    """The first of the trials; of an order that nobody stated not one in many pieces, if another.

    None where there is none.
    """
    whole = [trial for trial in trials if exchanger.ordered or not is_scattered(trial.layout)]
    return next(iter(whole or trials), None)


def left_in_pieces(exchanger: Exchanger, trials: Sequence[Trial], drawn: Trial) -> list[Trial]:
    """Trials that the lot holds as well as the one drawn, and that yielded to it so."""
    if exchanger.ordered or exchanger.cheapest:
        return []
    held = [trial for trial in with_room(trials) if is_scattered(trial.layout)]
    order = list(trials)
    return [trial for trial in held if order.index(trial) < order.index(drawn)]
