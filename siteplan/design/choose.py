"""Which of the loop types tried is drawn."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.design.evaluate import Trial
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
