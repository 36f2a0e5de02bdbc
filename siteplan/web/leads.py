"""Where on the page that is done which a finding asks for: a field, a tool, another view."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any, Final

from siteplan.findings.model import Finding, Reason
from siteplan.findings.places import places_of
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.loop_types import loop_types
from siteplan.web.fields import called, every_field, leaf, special

Json = dict[str, Any]
DRAWN: Final = "feature "
"""What a place begins with at which a thing of some kind is to be drawn."""
RETURN: Final = "well RETURN"
BY_OUTFALL: Final[Json] = {"called": "Show the outfall", "thing": "well OUTFALL"}
ABOUT: Final = ("feature", "pond")
"""Values of a finding that name a thing on the lot, beside its subject."""


def leads_of(what: Reason | Finding) -> list[Json]:
    """What leads to where what is said wants something done, each once, in order.

    Each has ``called``, the words of its button, and either ``path``, that of a field under what
    is wanted, or ``tool`` with ``of``, what is taken up there, or ``view``. They come of the
    places that its code declares, whatever its words are.

    Examples
    --------
    >>> from siteplan.findings.model import reason
    >>> leads_of(reason("header-not-to", elements=("B1",)))
    [{'called': 'Entry', 'tool': 'entry'}]
    """
    return each_once(map(lead_to, places_of(what)))


def leads_on(what: Finding, site: Site) -> list[Json]:
    """The same, and what shows the things on the lot that a finding is about: ``thing``."""
    leads = leads_of(what)
    if what.subject in loop_types():  # of the others nothing is laid out by hand
        tables = ((path.split(".")[0], path) for path in places_of(what))
        own = (path for table, path in tables if table not in loop_types().keys() - {what.subject})
        leads = each_once(map(lead_to, own))
    if site.exchanger.open.outfall:  # in place of a return well
        leads = [BY_OUTFALL if each.get("thing") == RETURN else each for each in leads]
    about = {what.subject, *(str(what.values.get(key, "")) for key in ABOUT)}
    things = (each.id for each in site.features if each.id in about)
    return each_once([*leads, *({"called": f"Show {id_}", "thing": id_} for id_ in things)])


def leads_to_mend(told: Json, shown: Collection[str]) -> list[Json]:
    """What leads to where a fault is mended: fields and tools, and the thing that it is about.

    ``told``: the fault as the page has it; ``shown``: names of the things that are drawn.
    """
    thing = told.get("thing")
    field = {"key": told["key"]} if told.get("key") else {}
    show = [{"called": f"Show {thing}", "thing": thing, **field}] if thing in shown else []
    return each_once([*map(lead_to, told.get("places", ())), *show])


def each_once(found: Iterable[Json | None]) -> list[Json]:
    """What leads somewhere, each once, in order; what leads nowhere is left out."""
    once: list[Json] = []
    for told in found:
        if told is not None and told not in once:
            once.append(told)
    return once


def lead_to(path: str) -> Json | None:
    """What leads to a place of the file; None where nothing on the page does.

    Examples
    --------
    >>> lead_to("feature street")
    {'called': 'Draw a street', 'tool': 'add', 'of': 'street'}
    >>> lead_to("ground.soil")
    {'called': 'Soil or rock', 'path': 'ground.soil'}
    """
    known: Mapping[str, Any] | None = special().get(path)
    if known is not None and "called" in known:
        return dict(known)
    kind = path.removeprefix(DRAWN)
    if kind != path:
        return {"called": f"Draw a {kind}", "tool": "add", "of": kind} if kind in kinds() else None
    if path in every_field():
        return {"called": called(path), "path": path}
    field = leaf(str(known["path"]) if known is not None else path)
    return {"called": called(field), "path": field} if field in every_field() else None
