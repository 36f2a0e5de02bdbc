"""Figures of a drawing have no digit that another machine could write otherwise.

The grid is far below what anything is set out to (a hundredth of a foot) and far above the last
digit of a float of a coordinate in millions of units (2e-10, IEEE 754 binary64).
"""

from __future__ import annotations

from pathlib import Path

import ezdxf
import places
import pytest
from planned import planned_once

from siteplan.export.drawing.grid import on_grid
from siteplan.site.readers.site_file import read_site

pytestmark = pytest.mark.usefixtures("coarse")


def test_the_last_digit_of_a_coordinate_does_not_show() -> None:
    one, other = 531575.4260000001, 531575.426 + 5e-11
    assert one != other
    texts = [f" 10\n{x!r}\n 20\n{-x!r}\n" for x in (one, other)]
    assert on_grid(texts[0]) == on_grid(texts[1])


def test_words_that_look_like_figures_stay() -> None:
    text = "  1\n0.30000000000000004\n  0\nTEXT\n  5\n1E-5\n"
    assert on_grid(text) == text


def test_a_scale_keeps_what_a_large_coordinate_multiplies() -> None:
    """A US survey foot is 1200/3937 m (NIST Handbook 44, Appendix C)."""
    scale = 1200 / 3937
    said = float(on_grid(f" 40\n{scale!r}\n").splitlines()[1])
    assert 5e6 * abs(said - scale) < 1e-5


@pytest.mark.parametrize("name", ["small-suburban", "good-aquifer"])
def test_a_written_drawing_lies_on_the_grid(name: str, tmp_path: Path) -> None:
    plan = planned_once(read_site(places.SAMPLES / name / "site.toml"))
    plan.write(tmp_path / "package")
    lines = (tmp_path / "package" / "model.dxf").read_text(encoding="utf-8").split("\n")
    figures = [
        value for code, value in zip(lines[::2], lines[1::2], strict=False) if 10 <= int(code) < 40
    ]
    assert len(figures) > 100
    assert all(len(value.partition(".")[2]) <= 9 or "e" in value for value in figures)
    assert not ezdxf.readfile(tmp_path / "package" / "model.dxf").audit().errors


def test_every_code_of_the_reference_is_written_as_what_it_holds() -> None:
    """Value types of group codes: DXF Reference, "Group Code Value Types" (from memory)."""
    points = {*range(10, 40), *range(110, 140), *range(1010, 1040)}
    scalars = {*range(40, 60), *range(140, 150), *range(210, 240), *range(460, 470),
               *range(1040, 1060)}  # fmt: skip
    for code in range(1072):
        (_, found) = on_grid(f"{code}\n1234567.12345678912\n").split("\n")[:2]
        if code in points:
            assert found == "1234567.123456789", code
        elif code in scalars:
            assert found == "1234567.12346", code
        else:
            assert found == "1234567.12345678912", code


def test_what_rounding_leaves_is_nothing_and_what_is_short_stays_as_it_is() -> None:
    for written, place, size in (
        ("-1e-17", "0.0", "0.0"), ("-0.0000000001", "0.0", "-1e-10"), ("1e-12", "0.0", "0.0"),
        ("2e-12", "0.0", "2e-12"), ("0.1234567", "0.1234567", "0.1234567"),
        ("1.50", "1.50", "1.50"),
        ("123456789012", "123456789012", "123456789012"), ("2.5e3", "2500.0", "2500.0"),
    ):  # fmt: skip
        assert on_grid(f"10\n{written}\n") == f"10\n{place}\n"
        assert on_grid(f"50\n{written}\n") == f"50\n{size}\n"
