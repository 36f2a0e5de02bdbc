"""[circuits], [header] and [fluid] of a site file."""

import pytest

from siteplan.errors import InputError
from siteplan.site.readers.site_file import read_site

FT, GPM = 0.3048, 231 * 0.0254**3 / 60


@pytest.fixture
def piping_of(lot_text, write_site):
    def piping(tables=""):
        return read_site(write_site(lot_text + tables)).exchanger.piping

    return piping


def test_what_is_left_open_is_common_practice(piping_of):
    piping = piping_of()
    assert (piping.circuits.pipe, piping.circuits.flow_m3s, piping.circuits.bores) == ("", None, 1)
    assert piping.header.layout is None
    assert piping.header.separation_m == pytest.approx(1.0 * FT)
    assert piping.header.depth_m == pytest.approx(4.0 * FT)
    assert piping.fluid.mixture == "propylene glycol 25 %"


def test_circuits_header_and_mixture_are_read_without_loads(piping_of):
    piping = piping_of(
        '\n[circuits]\npipe = "1 in"\nflow = "12 gpm"\nlongest = "600 ft"\nbores = 2\n'
        '[header]\nlayout = "home run"\nseparation = 2\ndepth = "5 ft"\n'
        '[fluid]\nmixture = "methanol 15 %"\ncoldest = "28 F"\n'
    )
    assert piping.circuits.pipe == "1 in"
    assert piping.circuits.flow_m3s == pytest.approx(12 * GPM)
    assert piping.circuits.longest_m == pytest.approx(600 * FT)
    assert piping.circuits.bores == 2
    assert (piping.header.layout, piping.header.depth_m) == ("home run", pytest.approx(5 * FT))
    assert piping.header.separation_m == pytest.approx(2 * FT)
    assert piping.fluid.mixture == "methanol 15 %"
    assert piping.fluid.coldest_c == pytest.approx((28 - 32) / 1.8)


def test_the_header_goes_below_the_frost_unless_somebody_says_otherwise(piping_of):
    frost = '\n[ground]\nfrost = "4.5 ft"\n'
    assert piping_of(frost).header.depth_m == pytest.approx(5 * FT)  # 6 in deeper
    assert piping_of(frost + '[header]\ndepth = "3 ft"\n').header.depth_m == pytest.approx(3 * FT)
    assert piping_of('\n[ground]\nfrost = "2 ft"\n').header.depth_m == pytest.approx(4 * FT)


@pytest.mark.parametrize(
    ("tables", "message"),
    [
        ('[circuits]\npipe = "3 inch"', r"\[circuits\], pipe: '3 inch' is not known"),
        ('[circuits]\npipe = "4 in"', r"\[circuits\], pipe: '4 in' is not known"),
        ('[circuits]\nflw = "12 gpm"', r"did you mean 'flow'"),
        ("[circuits]\nbores = 0", r"bores: 0 is not a whole number from 1 to 100"),
        ('[circuits]\nlongest = "0 ft"', r"longest: '0 ft' is too small"),
        ('[header]\nlayout = "reverse"', r"\[header\], layout: 'reverse' is not known"),
        ('[header]\ndepth = "-1 ft"', r"\[header\], depth"),
        ('[fluid]\nmixture = "methanol 50 %"', r"\[fluid\], mixture: 'methanol 50 %' is not known"),
    ],
)
def test_what_cannot_be_is_refused_by_name(piping_of, tables, message):
    with pytest.raises(InputError, match=message):
        piping_of("\n" + tables + "\n")


def test_a_number_of_circuits_is_read(piping_of):
    assert piping_of("\n[circuits]\ncount = 4\n").circuits.count == 4


def test_a_number_of_circuits_and_bores_in_series_do_not_go_together(piping_of):
    with pytest.raises(InputError, match="bores: does not go with count"):
        piping_of("\n[circuits]\ncount = 4\nbores = 2\n")


def test_a_number_of_circuits_is_a_whole_number(piping_of):
    with pytest.raises(InputError, match="count"):
        piping_of("\n[circuits]\ncount = 2.5\n")


def test_grout_is_bought_by_what_a_bag_yields(piping_of):
    grout = piping_of('\n[grout]\nextra = 0.2\nyield = "20.4 gal"\nsand = "200 lb"\n').grout
    assert grout.extra == 0.2
    assert grout.yield_m3 == pytest.approx(20.4 * 231 * 0.0254**3)
    assert grout.sand_kg == pytest.approx(200 * 0.45359237)
    silent = piping_of().grout
    assert (silent.extra, silent.yield_m3, silent.sand_kg) == (0.1, None, 0.0)


def test_sand_without_the_bags_it_goes_with_is_refused(piping_of):
    with pytest.raises(InputError, match="sand: goes with each bag, and nothing says how many"):
        piping_of('\n[grout]\nsand = "200 lb"\n')
