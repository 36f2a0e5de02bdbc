"""Random lots: engine and check agree, whatever stands on the lot; moving a lot changes nothing."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable
from pathlib import Path

import pytest
import shapely
from campaign import several, thorough
from package_checker import violations
from random_sites import TWINS, write_lot
from shapely.geometry.base import BaseGeometry

from siteplan.available.prepared import lot_of
from siteplan.design.lay_out import capacity_of
from siteplan.errors import InputError
from siteplan.plan import plan_site
from siteplan.site.model import Entry, Site, System
from siteplan.site.readers.site_file import read_site

pytestmark = pytest.mark.usefixtures("coarse")

POINTS = ("potable well", "septic tank", "fuel tank", "tree")
LINES = ("water line", "gas line", "sewer line", "overhead power line", "stream")
BOOKS = ("[]", '["maine"]', '["hanover-township-pa"]', '["minnesota", "laporte-county-in"]')
FEW = (0, 2, 4, 8, 9)
"""Lots that take little time to plan: each loop type fits on one and not on another."""
SEEDS = [0, *map(thorough, FEW[1:]), *(seed for seed in range(60) if seed not in FEW)]


def random_lot(seed: int) -> str:
    """Site file of a lot with a house, a pond and what else comes, in feet."""
    r = random.Random(seed)
    width, height = r.uniform(90, 320), r.uniform(100, 400)
    corners = [
        [0, 0],
        [width, r.uniform(-15, 15)],
        [width + r.uniform(-30, 30), height],
        [r.uniform(-20, 30), height + r.uniform(-20, 20)],
    ]
    x, y = r.uniform(15, width / 2), r.uniform(20, height / 2)
    wide, high = r.uniform(20, 45), r.uniform(20, 40)

    def feature(name: str, kind: str, geometry: str) -> str:
        return f'[[feature]]\nid = "{name}"\nkind = "{kind}"\n{geometry}\n'

    def place() -> list[float]:
        return [r.uniform(-10, width + 10), r.uniform(-10, height + 10)]

    box = f"area = [[{x}, {y}], [{x + wide}, {y}], [{x + wide}, {y + high}], [{x}, {y + high}]]"
    features = [feature("house", "building", box)]
    features += [
        feature(f"p{n}", r.choice(POINTS), f"at = {place()}") for n in range(r.randint(0, 5))
    ]
    features += [
        feature(f"l{n}", r.choice(LINES), f"line = {[place(), place(), place()]}")
        for n in range(r.randint(0, 3))
    ]
    px, py = r.uniform(0, width / 2), r.uniform(0, height / 2)
    shore = [[px, py], [px + 90, py + 10], [px + 80, py + 85], [px + 10, py + 70]]
    features.append(feature("pond", "pond", f'depth = "11 ft"\narea = {shore}'))
    entry = r.choice([[x + wide / 2, y], [x + wide, y + high / 2], [x + wide / 3, y + high / 3]])
    return (
        '[project]\ntitle = "t"\nowner = "o"\ndate = 2026-01-01\n'
        f"[geometry]\nparcel = {corners}\n"
        + "".join(features)
        + f'[exchanger]\ncapacity = "{r.choice([1, 3, 6])} ton"\nentry = [{entry}]\n'
        + f'[open]\nyield = "40 gpm"\n[rules]\nbooks = {r.choice(BOOKS)}\n'
    )


@pytest.mark.parametrize("seed", SEEDS[: several(len(FEW), 60)])
def test_the_check_agrees_with_every_engine(seed: int, write_site: Callable[..., Path]) -> None:
    try:
        site = read_site(write_site(random_lot(seed)))
    except InputError as error:
        # an entry or a pond may come to lie outside the parcel: then that is what is said
        assert "outside" in str(error) or "from the parcel" in str(error)  # noqa: PT017
        return
    plan = plan_site(site)  # a disagreement would raise CheckError
    for trial in plan.trials:
        if trial.fits:
            assert trial.layout is not None
            assert trial.required is not None
            assert trial.layout.length_m >= trial.required.length_m - 1e-6
            assert all(row.meets for row in trial.separations)


@pytest.mark.parametrize("seed", [0, 10, 3][: several(1, 3)])
def test_the_check_agrees_where_sides_are_sloped(
    seed: int, write_site: Callable[..., Path]
) -> None:
    r = random.Random(seed)
    soil, depth = r.choice("ABC"), r.choice([5, 6, 7])
    sloped = f'[horizontal]\nsoil = "{soil}"\nprotection = "slope"\ndepth = "{depth} ft"\n'
    text = random_lot(seed).replace("[open]", 'system = "horizontal"\n' + sloped + "[open]")
    plan = plan_site(read_site(write_site(text)))  # a disagreement would raise CheckError
    rows = [row for trial in plan.trials if trial.fits for row in trial.separations]
    assert all(row.meets for row in rows)


QUICK = (4, 44)
"""Seeds of lots on which bores and trenches fit, and that take little time."""
WHOLE = [4, thorough(44), *(seed for seed in range(1, 201) if seed not in QUICK)]


@pytest.mark.parametrize("seed", WHOLE[: several(len(QUICK), 200)])
def test_a_package_of_a_lot_of_any_kind_has_no_violation(seed: int, tmp_path: Path) -> None:
    path = write_lot(seed, tmp_path)
    plan = plan_site(read_site(path))
    plan.write(tmp_path / "package")
    assert violations(tmp_path / "package", path) == []
    assert plan.fits or seed not in QUICK


@pytest.mark.parametrize("twin", TWINS)
def test_a_twin_has_the_same_lot(twin: str, tmp_path: Path) -> None:
    sites = [read_site(write_lot(7, tmp_path / name, name)) for name in ("", twin)]
    areas = [[f.shape.area for f in site.features] for site in sites]
    kinds = [[f.kind for f in site.features] for site in sites]
    # written to a millimetre or so
    assert sites[1].parcel.area == pytest.approx(sites[0].parcel.area, rel=1e-4)
    assert kinds[1] == kinds[0]
    assert areas[1] == pytest.approx(areas[0], rel=1e-3)
    assert (sites[1].parcel.bounds != sites[0].parcel.bounds) == (twin != "renamed")


def moved(site: Site, turn_deg: float, dx: float, dy: float) -> Site:
    def move(shape: BaseGeometry) -> BaseGeometry:
        turned = shapely.affinity.rotate(shape, turn_deg, origin=(0, 0))
        return shapely.affinity.translate(turned, dx, dy)

    return dataclasses.replace(
        site,
        parcel=move(site.parcel),
        features=tuple(dataclasses.replace(f, shape=move(f.shape)) for f in site.features),
        entries=tuple(Entry(e.id, move(e.point), e.label) for e in site.entries),  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("system", ["vertical", "horizontal"])
@pytest.mark.parametrize(("turn_deg", "dx", "dy"), [(0, 5e5, 4.7e6), (90, 0, 0), (37, 100, -50)])
def test_moving_and_turning_a_lot_changes_nothing(
    system: System,
    turn_deg: float,
    dx: float,
    dy: float,
    lot_text: str,
    write_site: Callable[..., Path],
) -> None:
    site = read_site(write_site(lot_text))
    other = moved(site, turn_deg, dx, dy)
    here = capacity_of(lot_of(site), system)
    there = capacity_of(lot_of(other), system)
    # directions off the sides are scanned in steps: a turned lot may come out a little different
    assert there == pytest.approx(here, rel=1e-6 if turn_deg % 90 == 0 else 0.02)
