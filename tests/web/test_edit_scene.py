"""What the page shows of a lot while its figures are still being typed."""

from __future__ import annotations

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from test_edit_server import LOT

from siteplan.web.items import Drawing
from siteplan.web.scene import scene_of

HALF = """
[loads]
heating = "24 MBH"
heating_hours = 1700
"""
ENTRY = """
[[entry]]
id = "door"
at = [60, 60]
"""


@pytest.mark.parametrize("entry", ["", ENTRY], ids=["any wall", "entry drawn"])
def test_the_ground_left_is_shown_while_loads_are_typed_and_the_ground_is_not_yet(tmp_path, entry):
    # the length is taken out: the loads alone say what is wanted, and want a ground temperature
    text = LOT.replace('length = { given = "300 ft", by = "a designer" }', "") + HALF + entry
    file = tmp_path / "site.toml"
    file.write_text(text, encoding="utf-8")
    scene = scene_of(Drawing({file.name: text}, file.name, None), file)
    assert any("ground" in fault.where for fault in scene.faults)
    # 10 ft from the property line by common practice, 6 in for staking and the bore's 3 in
    (bore,) = (each for each in scene.told()["parts"] if each["part"] == "bore")
    assert bore["line"][0] == pytest.approx(10.75 * 0.3048, abs=0.01)
