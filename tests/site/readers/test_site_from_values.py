"""A lot from memory: the same site as from a file, the same faults, nothing changed."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from site_values import small_lot

import siteplan
from siteplan.errors import InputError
from siteplan.site.readers.site_file import read_site, site_from


def without_frame(site: siteplan.Site) -> dict[str, Any]:
    """Everything about a site; of its coordinate system only what it says of itself."""
    values = {key: getattr(site, key) for key in site.__slots__}
    frame = values.pop("georeference")
    corner = site.parcel.exterior.coords[0]
    values["frame"] = frame and (frame.crs_name, frame.north, frame.latitude_longitude(*corner))
    return values


def test_values_from_memory_give_the_site_of_the_file(sample: Path) -> None:
    values = tomllib.loads((sample / "site.toml").read_text(encoding="utf-8"))
    before = copy.deepcopy(values)
    assert without_frame(site_from(values, folder=sample)) == without_frame(read_site(sample))
    assert values == before


def test_files_are_looked_up_in_the_current_folder_where_none_is_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = Path(siteplan.__file__).parent.parent / "samples" / "rural-acre"
    monkeypatch.chdir(folder)
    values = tomllib.loads(Path("site.toml").read_text(encoding="utf-8"))
    assert site_from(values).parcel == read_site(folder).parcel


def test_a_file_that_is_not_there_is_named_with_its_folder(tmp_path: Path) -> None:
    values = small_lot()
    values["geometry"] = {"file": "lot.geojson"}
    with pytest.raises(InputError, match=r"lot\.geojson: no such file"):
        site_from(values, folder=tmp_path)


def test_faults_come_together_and_speak_of_values() -> None:
    values = small_lot()
    values["project"]["owner"] = 3
    values["rig"] = {"width": "-3 ft", "lenght": "20 ft"}
    values["feature"][0]["kind"] = "bilding"
    with pytest.raises(InputError, match="values") as caught:
        site_from(values)
    assert [fault.where for fault in caught.value.faults] == [
        "values, [project], owner",
        "values, [rig], width",
        "values, [rig], lenght",
        "values, feature 'house', kind",
    ]


def test_tuples_do_for_lists() -> None:
    values = small_lot()
    values["geometry"]["parcel"] = tuple(tuple(point) for point in values["geometry"]["parcel"])
    values["feature"] = tuple(values["feature"])
    values["exchanger"]["entry"] = (80, 70)
    assert without_frame(site_from(values)) == without_frame(site_from(small_lot()))


@pytest.mark.parametrize("values", [[], "[project]", None])
def test_what_is_no_mapping_is_refused(values: Any) -> None:
    with pytest.raises(InputError, match="values: is no mapping of tables"):
        site_from(values)


def test_a_site_from_memory_is_planned_like_any_other() -> None:
    plan = siteplan.plan_site(siteplan.site_from(small_lot()), system="vertical")
    assert plan.fits
