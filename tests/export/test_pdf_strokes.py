"""Lines of the print: closed ones are closed as the format closes them, open ones stay open."""

from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from siteplan.export.about import About
from siteplan.export.ink import Ink, Stroke
from siteplan.export.pdf import write_pages

SQUARE = [(10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0), (10.0, 10.0)]


@pytest.mark.parametrize(
    ("points", "closes"),
    # ends where it begins; ends beside its beginning; shares one coordinate with it
    [(SQUARE, 1), (SQUARE[:4], 0), ([(10.0, 10.0), (30.0, 12.0), (10.0, 30.0)], 0)],
)
def test_a_line_is_closed_where_it_comes_back_to_its_beginning(
    points: list[tuple[float, float]], closes: int, tmp_path: Path
) -> None:
    stroke = Stroke([np.array(points)], "#000000", 0.5, (), clipped=False)
    page = Ink(50.0, 50.0, (0.0, 0.0, 50.0, 50.0), (stroke,), ())
    write_pages([page], tmp_path / "a.pdf", about=About(""), names=["L1"])
    words = PdfReader(tmp_path / "a.pdf").pages[0].get_contents().get_data().split()
    # ISO 32000-1, table 59: h closes the subpath; each line but the closing one is an l
    assert words.count(b"h") == closes
    assert words.count(b"l") == len(points) - 1 - closes
