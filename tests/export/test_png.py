"""A PNG read back by Pillow, which also checks the sums of its parts."""

from __future__ import annotations

import io

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from siteplan.export.png import png_bytes


@given(st.integers(1, 40), st.integers(1, 40), st.integers(0, 9), st.sampled_from([72, 154, 200]))
def test_dots_come_back_as_they_were(high: int, wide: int, seed: int, dpi: int) -> None:
    dots = np.random.default_rng(seed).integers(0, 256, (high, wide, 3), dtype=np.uint8)
    written = png_bytes(dots, dpi)
    Image.open(io.BytesIO(written)).verify()
    read = Image.open(io.BytesIO(written))
    assert read.mode == "RGB"
    assert np.array_equal(np.asarray(read), dots)
    # a density is a whole number of dots a metre
    assert np.allclose(read.info["dpi"], dpi, atol=0.02)
