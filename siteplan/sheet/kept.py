"""Results that are kept while a sheet is composed, which asks for the same ones many times."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import wraps
from typing import Final, ParamSpec, TypeVar

Given = ParamSpec("Given")
Result = TypeVar("Result")
MOST: Final = 96
"""Results kept of one function; the oldest goes first."""


def kept(function: Callable[Given, Result]) -> Callable[Given, Result]:
    """The function, its last results kept for the very objects they were worked out from.

    Words and numbers are known by their value, all else by being the same object: a plan is too
    large to be compared with another each time, and nothing changes it.

    Examples
    --------
    >>> count = kept(lambda plan, width: [len(plan), width])
    >>> plan = ("a", "b")
    >>> count(plan, 2.0) is count(plan, 2.0), count(plan, 2.0) is count(("a", *"b"), 2.0)
    (True, False)
    """
    # the arguments stand beside the result, so that no other object gets their identity
    results: OrderedDict[Hashable, tuple[object, Result]] = OrderedDict()

    @wraps(function)
    def known(*args: Given.args, **named: Given.kwargs) -> Result:
        key = (*map(_mark, args), *((name, _mark(named[name])) for name in sorted(named)))
        if key not in results:
            results[key] = (args, named), function(*args, **named)
            if len(results) > MOST:
                results.popitem(last=False)
        return results[key][1]

    return known


def _mark(value: object) -> Hashable:
    """What an argument is known by."""
    plain = value is None or isinstance(value, (str, int, float))
    return (type(value), value) if plain else id(value)
