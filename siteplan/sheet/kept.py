"""Results that are kept while sheets are composed, which asks for the same ones many times."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import wraps
from typing import Final, ParamSpec, TypeVar, cast

Given = ParamSpec("Given")
Result = TypeVar("Result")
Results = OrderedDict[Hashable, tuple[object, object]]
"""Results of one function, the oldest first, each beside its arguments."""
MOST: Final = 96
"""Results kept of one function; the oldest goes first."""

_DESK: ContextVar[dict[object, Results] | None] = ContextVar("_DESK", default=None)
"""Results by function while sheets are composed; None at all other times."""


@contextmanager
def composing() -> Iterator[None]:
    """Keep results until this ends, or what it stands in; then no plan is held on to."""
    if _DESK.get() is not None:
        yield
        return
    token = _DESK.set({})
    try:
        yield
    finally:
        _DESK.reset(token)


def kept(function: Callable[Given, Result]) -> Callable[Given, Result]:
    """The function, its last results kept for the very objects they were worked out from.

    Words and numbers are known by their value, all else by being the same object: a plan is too
    large to be compared with another each time, and nothing changes it. Outside of `composing`
    nothing is kept.

    Examples
    --------
    >>> count = kept(lambda plan, width: [len(plan), width])
    >>> plan = ("a", "b")
    >>> with composing():
    ...     count(plan, 2.0) is count(plan, 2.0), count(plan, 2.0) is count(("a", *"b"), 2.0)
    (True, False)
    >>> count(plan, 2.0) is count(plan, 2.0)
    False
    """

    @wraps(function)
    def known(*args: Given.args, **named: Given.kwargs) -> Result:
        desk = _DESK.get()
        if desk is None:
            return function(*args, **named)
        results = desk.setdefault(known, OrderedDict())
        key = (*map(_mark, args), *((name, _mark(named[name])) for name in sorted(named)))
        if key not in results:
            # the arguments stand beside the result, so that no other object gets their identity
            results[key] = (args, named), function(*args, **named)
            if len(results) > MOST:
                results.popitem(last=False)
        return cast("Result", results[key][1])

    return known


def _mark(value: object) -> Hashable:
    """What an argument is known by."""
    plain = value is None or isinstance(value, (str, int, float))
    return (type(value), value) if plain else id(value)
