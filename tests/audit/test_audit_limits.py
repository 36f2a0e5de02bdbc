"""What an audit does not read: what never ends, and more than anybody waits for."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from audit_lots import audited, changed, plan_of, site_of, symbol

from siteplan.audit import drawing as reader
from siteplan.audit.audit import audit_drawing
from siteplan.audit.measured import read_measured
from siteplan.errors import InputError

pytestmark = pytest.mark.usefixtures("coarse")

PIPES = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without named pipes")


@PIPES
@pytest.mark.parametrize("name", ["plan.dxf", "plan.csv"])
def test_a_pipe_is_not_opened(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    os.mkfifo(path)
    site = plan_of("bores")[0]
    with pytest.raises(InputError, match="is no file"):
        # one that is opened never ends, as nobody writes to it
        audit_drawing(path, site) if name.endswith("dxf") else read_measured(path, site, ())


def test_a_device_that_never_ends_is_not_read(tmp_path: Path) -> None:
    zero = Path("/dev/zero")
    if not zero.exists():
        pytest.skip("a system without /dev/zero")
    (tmp_path / "plan.dxf").symlink_to(zero)
    with pytest.raises(InputError, match="is no file"):
        audit_drawing(tmp_path / "plan.dxf", plan_of("bores")[0])


def test_more_symbols_than_are_audited_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reader, "MOST_SYMBOLS", 40)
    with changed("bores", tmp_path) as doc:
        first = symbol(doc, "B1")
        for _ in range(50):
            doc.modelspace().add_entity(first.copy())
    with pytest.raises(InputError, match=r"symbols of elements; 40 are audited"):
        audited("bores", tmp_path)


def test_a_survey_laid_under_a_plan_is_told_and_does_not_hide_the_plan(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for k in range(3000):
            doc.modelspace().add_line((k, -50), (k + 1, -51), {"layer": "SURVEY"})
    audit = audited("bores", tmp_path)
    assert len(audit.layout.elements) == len(plan_of("bores")[1].drawn.layout.elements)
    assert any(
        finding.code == "drawing-added" or "added" in finding.code for finding in audit.findings
    )
    assert site_of("bores").parcel.equals(audit.site.parcel)
