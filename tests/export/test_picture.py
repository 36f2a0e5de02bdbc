"""Which lines of a picture are put on whole dots."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.export.picture import _is_square


@pytest.mark.parametrize(
    ("line", "square"),
    [
        ([(0, 0), (5, 0), (5, 3), (0, 3)], True),
        ([(0, 0), (5, 1)], False),
        # one slanted piece among level ones: on whole dots it would be bent
        ([(0, 0), (5, 0), (9, 3), (12, 3)], False),
    ],
)
def test_a_line_is_snapped_to_dots_where_all_of_it_is_level_or_upright(
    line: list[tuple[float, float]], square: bool
) -> None:
    assert _is_square(np.array(line, dtype=float)) is square
