"""What there is to say, before anybody says it: codes with values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TypeAlias

from siteplan.findings.entries import Severity, entry_of

Value: TypeAlias = "str | float | Reason | tuple[str, ...] | tuple[Reason, ...] | None"
"""Value of a reason: names, SI figures, or further reasons that complete the sentence."""
Values: TypeAlias = Mapping[str, Value]
"""Values by name."""

NOTHING: Mapping[str, Value] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Reason:
    """Something to say: a code of the catalogue, and what its sentence needs.

    Parameters
    ----------
    code
        A code of the catalogue.
    pairs
        Names and values, sorted by name; lengths in metres, flows in m3/s, temperatures in C.
    """

    code: str
    pairs: tuple[tuple[str, Value], ...] = ()

    @property
    def values(self) -> dict[str, Value]:
        """Values by name."""
        return dict(self.pairs)


def reason(code: str, /, **values: Value) -> Reason:
    """Reason with its values by name; what is None is left out.

    Raises
    ------
    KeyError
        No such code in the catalogue.

    Examples
    --------
    >>> reason("no-way-for-header")
    Reason(code='no-way-for-header', pairs=())
    """
    entry_of(code)
    given = ((name, value) for name, value in values.items() if value is not None)
    return Reason(code, tuple(sorted(given)))


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing the checks, or the planning itself, have to say.

    Parameters
    ----------
    code
        Stable word for programs, such as ``"separation"``; its severity and sentence stand in
        the catalogue.
    subject
        Element or feature id it is about.
    measured_m
        What was measured [m], where it is a length.
    required_m
        What is required [m], where it is a length.
    rule
        Id of the rule and its book.
    values
        What else its sentence needs, by name.
    """

    code: str
    subject: str = ""
    measured_m: float | None = None
    required_m: float | None = None
    rule: str = ""
    values: Mapping[str, Value] = field(default_factory=dict, hash=False)

    @property
    def severity(self) -> Severity:
        """Severity of its code."""
        severity = entry_of(self.code).severity
        if severity is None:
            raise KeyError(f"{self.code!r} is a phrase of the catalogue, not a finding.")
        return severity

    @property
    def reason(self) -> Reason:
        """The same as a reason, to be worded."""
        return reason(
            self.code,
            subject=self.subject,
            measured_m=self.measured_m,
            required_m=self.required_m,
            rule=self.rule,
            **self.values,
        )
