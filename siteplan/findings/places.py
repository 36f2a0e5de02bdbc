"""Where in the site file that is done which a finding wants: by its code, not its words."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from string import Formatter

from siteplan.findings.entries import entry_of
from siteplan.findings.model import Finding, Reason, Value


def places_of(what: Reason | Finding) -> tuple[str, ...]:
    """Places of the site file that what is said concerns, each once, as its code declares them.

    A place is a table or a key with its table, or ``feature`` with the kind of feature that is
    to be drawn. After its own come those of the reasons that complete it.

    Parameters
    ----------
    what
        What there is to say.

    Raises
    ------
    KeyError
        No such code in the catalogue.

    Examples
    --------
    >>> from siteplan.findings.model import reason
    >>> places_of(reason("no-flow-required"))
    ('open.flow', 'exchanger.capacity')
    >>> places_of(Finding("no-way-in", "B1", values={"machine": "rig"}))
    ('rig',)
    """
    said = what.reason if isinstance(what, Finding) else what
    return tuple(dict.fromkeys(_places(said)))


def _places(said: Reason) -> Iterator[str]:
    values = said.values
    for template in entry_of(said.code).at:
        yield from _filled(template, values)
    for value in values.values():
        for each in value if isinstance(value, tuple) else (value,):
            if isinstance(each, Reason):
                yield from _places(each)


def _filled(template: str, values: dict[str, Value]) -> Iterator[str]:
    """A place with the names that stand for its braces; of several names one each."""
    names = [name for _, name, _, _ in Formatter().parse(template) if name]
    given = [_words(values.get(name)) for name in names]
    for chosen in product(*given):
        yield template.format(**dict(zip(names, chosen, strict=True)))


def _words(value: Value) -> list[str]:
    """Names that a value brings; none of a figure or a reason."""
    several = value if isinstance(value, tuple) else (value,)
    return [each for each in several if isinstance(each, str) and each]
