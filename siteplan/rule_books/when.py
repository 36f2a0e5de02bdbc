"""In whose case a row of a book holds."""

from __future__ import annotations

import math
from dataclasses import dataclass

PIPES = ("watertight", "not watertight")
OWNERS = ("own", "other")
LIES = ("uphill", "downhill")
"""What a feature may say of its pipe, of its owner and of where it lies by the exchanger."""


@dataclass(frozen=True, slots=True)
class Range:
    """A class of a quantity: from ``low`` to ``high``, in SI units.

    Parameters
    ----------
    low, high
        Bounds.
    low_in, high_in
        Whether a bound itself belongs to the class.
    """

    low: float = 0.0
    high: float = math.inf
    low_in: bool = True
    high_in: bool = True

    def holds(self, value: float) -> bool:
        """Whether a value falls in the class.

        Examples
        --------
        >>> Range(10, 25, low_in=False).holds(10), Range(10, 25, low_in=False).holds(25)
        (False, True)
        """
        above = value > self.low or (self.low_in and value == self.low)
        return above and (value < self.high or (self.high_in and value == self.high))

    def meets(self, other: Range) -> bool:
        """Whether a value may fall in both classes.

        Examples
        --------
        >>> Range(0, 50).meets(Range(40, 90)), Range(50, low_in=False).meets(Range(40, 50))
        (True, False)
        """
        low, high = max(self.low, other.low), min(self.high, other.high)
        return low < high or (low == high and self.holds(low) and other.holds(low))


@dataclass(frozen=True, slots=True)
class Condition:
    """When a rule binds; what a feature does not state counts as binding, so the strictest holds.

    Parameters
    ----------
    use
        Use of the feature, matched by words: ``"public"`` and ``"public municipal"`` meet.
    pump_rate, daily_flow
        Class of a well's or of a sewage field's flow [m3/s].
    loop_flow
        Class of the open loop's own flow [m3/s].
    voltage
        Class of a power line [V]; here an unstated one does not bind.
    voltage_unknown
        Binds power lines whose voltage is not stated.
    pipe, owner, lies
        What a sewer is made of, whose a well is, whether the thing lies uphill or downhill.
    fluid, other_fluid
        Antifreezes of the loop with which it binds, or with all but which.
    depth
        Class of the part's own depth [m].
    power
        Class of the plant's capacity [W].
    words
        The same as the book writes it.
    """

    use: str = ""
    pump_rate: Range | None = None
    daily_flow: Range | None = None
    loop_flow: Range | None = None
    voltage: Range | None = None
    voltage_unknown: bool = False
    pipe: str = ""
    owner: str = ""
    lies: str = ""
    fluid: tuple[str, ...] = ()
    other_fluid: tuple[str, ...] = ()
    depth: Range | None = None
    power: Range | None = None
    words: str = ""


ALWAYS = Condition()
"""In every case."""
