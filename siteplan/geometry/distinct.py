"""Whole numbers, each once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Numbers = npt.NDArray[np.intp]


def distinct(numbers: Numbers) -> Numbers:
    """The numbers in rising order, each once.

    As ``numpy.unique``, which from its release 2.3 on goes by hashes and takes ten times as long
    for the few thousand numbers that are asked for here again and again.

    Examples
    --------
    >>> distinct(np.array([7, 3, 7, 5, 3])).tolist()
    [3, 5, 7]
    """
    rising = np.sort(numbers)
    new = np.ones(len(rising), dtype=bool)
    new[1:] = rising[1:] != rising[:-1]
    return rising[new]
