"""That a loop type fits which is not drawn, as its trenches would lie in many pieces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from siteplan.design.choose import left_in_pieces
from siteplan.design.evaluate import Trial
from siteplan.design.scattered import pieces_of
from siteplan.findings.model import Finding, Value
from siteplan.site.model import Exchanger, System


def pieces_findings(
    exchanger: Exchanger, trials: Sequence[Trial], drawn: Trial, *, asked: System | None
) -> Iterator[Finding]:
    """One for each loop type that would have been drawn before, if it lay in fewer pieces."""
    for trial in left_in_pieces(exchanger, trials, drawn) if asked is None else ():
        layout = trial.layout
        if layout is not None and layout.header is not None:
            values: Mapping[str, Value] = {
                "system": trial.system,
                "pieces": pieces_of(layout),
                "header_m": layout.header.length_m,
                "drawn": drawn.system,
            }
            yield Finding("in-pieces", values=values)
