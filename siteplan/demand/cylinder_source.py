"""Response of the ground to a steady heat flow from a long bore: the cylindrical source.

Source: H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 1959, section 13.5 (not
seen); the same problem is tabulated as pD(tD) by A. F. van Everdingen and W. Hurst, Trans. AIME
186 (1949) 305-324, and G = pD / (2 pi).
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Final

import numpy as np

SMALLEST: Final = -60.0
LARGEST: Final = 40.0
"""Natural logarithms of the integration variable between which the integrand is not nothing."""


@cache
def cylinder_response(fourier: float) -> float:
    """Temperature rise at the wall of a bore for a unit heat flow, times conductivity, G(Fo) [-].

    G = (2/pi3) Int (1 - exp(-u2 Fo)) / (u3 (J1(u)2 + Y1(u)2)) du over u > 0, integrated in ln u.

    Parameters
    ----------
    fourier
        Fourier number: diffusivity times time over the square of the bore's radius, above 0 [-].

    Raises
    ------
    ValueError
        The Fourier number is not above zero.

    Examples
    --------
    >>> round(cylinder_response(1.0), 6), round(2 * math.pi * cylinder_response(1000.0), 4)
    (0.127665, 3.8606)
    """
    if not fourier > 0:
        raise ValueError(f"Fourier number: {fourier} is not above zero.")
    # loads slowly, and only a calculated length needs it
    from scipy.integrate import quad  # noqa: PLC0415

    middle = -0.5 * math.log(fourier)
    parts = sorted({SMALLEST, min(middle, 0.0) - 2.0, min(middle, 0.0), 0.0, middle, 5.0, LARGEST})
    total = 0.0
    for low, high in pairwise(parts):
        piece, _ = quad(_integrand, low, high, args=(fourier,), epsabs=1e-13, epsrel=1e-11)
        total += piece
    return 2.0 * total / math.pi**3


def _integrand(log_u: float, fourier: float) -> float:
    from scipy.special import j1, y1  # noqa: PLC0415

    u = math.exp(log_u)
    if u < 1e-8:
        return math.pi**2 / 4 * -math.expm1(-u * u * fourier)  # Y1 is -2/(pi u) there
    bessel = j1(u) ** 2 + y1(u) ** 2 if u < 1e4 else 2.0 / (math.pi * u)
    return float(-np.expm1(-u * u * fourier) / (u * u * bessel))
