"""Which codes of the catalogue the tests make the package say, over all processes of a run."""

from __future__ import annotations

import sys
from typing import Any

from siteplan.findings import model
from siteplan.findings.entries import Entry, entries, entry_of

CODES: set[str] = set()
"""Codes that the package made reasons and findings of in this process."""

_made = model.Finding.__init__


def _noting_reason(code: str) -> Entry:
    if sys._getframe(1).f_code.co_name == model.reason.__name__:
        _note(code, sys._getframe(2).f_globals)
    return entry_of(code)


def _noting_finding(self: model.Finding, code: str, *values: Any, **named: Any) -> None:
    _note(code, sys._getframe(1).f_globals)
    _made(self, code, *values, **named)


def _note(code: str, caller: dict[str, Any]) -> None:
    """Note a code where the package itself gives it: one that a test writes down proves nothing."""
    module = str(caller.get("__name__", ""))
    room = module.partition(".")[0]
    if room in ("siteplan", "dataclasses") and module != model.__name__:
        CODES.add(code)


def watch() -> None:
    """Note every code from now on.

    A reason looks its code up when it is made; a finding does so only when somebody asks for its
    severity or its words, and most tests ask for the code alone.
    """
    model.entry_of = _noting_reason  # type: ignore[assignment]
    model.Finding.__init__ = _noting_finding  # type: ignore[assignment,method-assign]


def unproduced() -> list[str]:
    """Codes of the catalogue that the package has said in no test."""
    return sorted(set(entries()) - CODES)
