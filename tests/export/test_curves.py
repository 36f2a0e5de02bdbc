"""What stands in the curves: their lines, axes and words, read from what matplotlib was given."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.alternatives.length_study import Spaced
from siteplan.export import curve
from siteplan.units.systems import METRIC, US

FT = 0.3048
DRIFT = [0.0, -0.2, -0.5, 0.1, *[0.3] * 20]
"""Of two years [K]."""
ALONE = [2.0, 1.0, 4.0, 9.0, 14.0, 19.0, 22.0, 21.0, 17.0, 11.0, 6.0, 3.0]
YEAR = SimpleNamespace(
    alone_c=ALONE, with_loop_c=[each - 1.0 for each in ALONE],
    ice_m=[0.2, 0.1, *[0.0] * 9, 0.05],
)  # fmt: skip


@pytest.fixture
def seen(monkeypatch):
    """The figure that would be saved."""
    found = []
    monkeypatch.setattr(curve, "_save", lambda figure, _: found.append(figure))
    return found


def line(axes, label):
    """Places of a line that the legend names."""
    (only,) = (each for each in axes.lines if each.get_label() == label)
    return np.column_stack([only.get_xdata(), only.get_ydata()])


def legend(axes):
    return {text.get_text() for text in axes.get_legend().get_texts()}


def level_lines(axes):
    """Heights of what runs level across the whole picture."""
    return [each.get_ydata()[0] for each in axes.lines if list(each.get_xdata()) == [0, 1]]


@pytest.mark.parametrize(("unit", "size"), [(US, FT), (METRIC, 1.0)])
def test_lengths_stand_over_their_spacings_in_the_unit_of_the_site(seen, tmp_path, unit, size):
    rows = [Spaced(3.0, None, 210.0), Spaced(6.0, 180.0, 170.0), Spaced(9.0, 150.0, 120.0)]
    curve.write_curve(rows, tmp_path, title="Field", of="bore", unit=unit, asked_m=6.0)
    (axes,) = seen[0].axes
    # where no length is enough there is none to be drawn
    assert line(axes, "bore required") == pytest.approx(np.array([[6, 180], [9, 150]]) / size)
    held = np.array([[3, 210], [6, 170], [9, 120]]) / size
    assert line(axes, "the lot holds") == pytest.approx(held)
    upright = [each for each in axes.lines if list(each.get_ydata()) == [0, 1]]
    assert [each.get_xdata()[0] for each in upright] == pytest.approx([6.0 / size])
    assert legend(axes) == {"bore required", "the lot holds"}
    # lengths begin at nothing, so that half as long looks half as long
    assert axes.get_ylim()[0] == 0.0
    (asked,) = axes.texts
    assert (asked.get_text(), asked.xy[0]) == ("asked for", pytest.approx(6.0 / size))
    assert str(unit) in axes.get_xlabel()
    assert axes.get_title() == "Field"


@pytest.mark.parametrize("water_c", [None, 10.0])
def test_the_drift_of_a_well_stands_month_by_month(seen, tmp_path, water_c):
    curve.write_drift(water_c, DRIFT, tmp_path, title="Well", unit=METRIC)
    (axes,) = seen[0].axes
    base = water_c or 0.0
    years = [month / 12 for month in range(1, 25)]
    wanted = np.column_stack([years, np.array(DRIFT) + base])
    assert line(axes, "water pumped") == pytest.approx(wanted)
    assert level_lines(axes) == [base]
    assert axes.get_xlim() == (0.0, 2.0)
    # a kelvin and a half to both sides at least: a drift of half a kelvin looks small
    assert axes.get_ylim() == pytest.approx((base - 1.5, base + 1.5))
    assert legend(axes) == {"water pumped", "aquifer"}


def test_a_large_drift_is_shown_whole(seen, tmp_path):
    curve.write_drift(10.0, [-4.0, 5.0], tmp_path, title="Well", unit=METRIC)
    low, high = seen[0].axes[0].get_ylim()
    assert low <= 6.0
    assert high >= 15.0


def test_a_drift_in_degrees_fahrenheit_has_no_zero_point_and_a_temperature_has(seen, tmp_path):
    """A kelvin is 1.8 F of difference; 10 C are 50 F."""
    curve.write_drift(None, DRIFT, tmp_path, title="Well", unit=US)
    curve.write_drift(10.0, DRIFT, tmp_path, title="Well", unit=US)
    drift, water = (line(figure.axes[0], "water pumped")[:, 1] for figure in seen)
    assert drift == pytest.approx(1.8 * np.array(DRIFT))
    assert water == pytest.approx(50.0 + 1.8 * np.array(DRIFT))


@pytest.mark.parametrize(("unit", "size", "degrees"), [(METRIC, 1.0, 1.0), (US, FT, 1.8)])
def test_a_pond_has_its_year_with_the_loop_and_without_and_its_ice(
    seen, tmp_path, unit, size, degrees
):
    curve.write_water_year(YEAR, tmp_path, title="Pond", unit=unit)
    axes, ice = seen[0].axes
    zero = 0.0 if degrees == 1.0 else 32.0
    alone, loop = line(axes, "without the loop"), line(axes, "with the loop")
    assert alone[:, 0].tolist() == loop[:, 0].tolist() == list(range(12))
    assert alone[:, 1] == pytest.approx(zero + degrees * np.array(ALONE))
    assert loop[:, 1] == pytest.approx(zero + degrees * (np.array(ALONE) - 1.0))
    # water freezes at 0 C
    assert level_lines(axes) == pytest.approx([zero])
    assert [text.get_text() for text in axes.get_xticklabels()][:3] == ["Jan", "Feb", "Mar"]
    bars = [bar.get_height() for bar in ice.patches]
    assert bars == pytest.approx([each / size for each in YEAR.ice_m])
    assert [bar.get_x() + bar.get_width() / 2 for bar in ice.patches] == pytest.approx(range(12))
    assert legend(axes) == {"without the loop", "with the loop", "thickest ice"}
    # the bars end below every place of the curves
    (low, high), (_, ice_high) = axes.get_ylim(), ice.get_ylim()
    highest_bar = low + (high - low) * max(bars) / ice_high
    assert highest_bar < min(alone[:, 1].min(), loop[:, 1].min())
    assert high > alone[:, 1].max()
    # the curves are drawn over the bars, on ground that hides none of them
    assert axes.get_zorder() > ice.get_zorder()
    assert not axes.patch.get_visible()
