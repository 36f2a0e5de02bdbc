"""What bores farther apart would save is told with what it takes."""

from __future__ import annotations

import pytest
from heated_lot import heated_lot
from wording import in_words

from siteplan.alternatives.wider_spacing import spacing_findings
from siteplan.available.prepared import lot_of
from siteplan.design.evaluate import try_system
from siteplan.site.readers.site_file import site_from

LOT = heated_lot("sandy clay")


def test_what_is_told_of_bores_farther_apart_is_what_a_plan_with_them_has() -> None:
    # that bores farther apart need less in all: common practice, no source; the figures are those
    # of a trial of its own
    lot = lot_of(site_from(LOT))
    trial = try_system(lot, "vertical")
    (told,) = spacing_findings(lot, trial)
    wide = {**LOT, "vertical": {"spacing": {"least": "20 ft", "most": "40 ft"}}}
    stated = lot_of(site_from(wide))
    again = try_system(stated, "vertical")
    assert trial.layout is not None
    assert again.layout is not None
    assert again.layout.header is not None
    assert told.measured_m == pytest.approx(again.layout.length_m)
    assert told.values["header_m"] == pytest.approx(again.layout.header.length_m)
    assert told.values["saved_m"] == pytest.approx(trial.layout.length_m - again.layout.length_m)
    assert "less to drill" in in_words(told)
    # who says how far apart they stand is told nothing
    assert list(spacing_findings(stated, again)) == []
