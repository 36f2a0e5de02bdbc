"""``siteplan why SITE X Y``: which rules keep each part off one point of the lot."""

from __future__ import annotations

import argparse
from typing import Literal

from siteplan.cli.report import Terminal, columns
from siteplan.errors import Fault, InputError
from siteplan.rule_books.model import Part, Rule
from siteplan.site.machines import MachineKind
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site
from siteplan.vocabulary.loop_types import all_parts, that_binds


def run_why(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan why``: 0 where the part may lie there, 1 where not."""
    from siteplan.available.area import PARCEL, why_not
    from siteplan.rules.ruleset import rules_of
    from siteplan.units.lengths import format_length

    site = read_site(arguments.site)
    factor = site.unit.metres
    x, y = arguments.x * factor, arguments.y * factor
    dry = () if site.of_kind("pond") else ("coil",)
    known = all_parts()
    parts = [arguments.part] if arguments.part else [part for part in known if part not in dry]
    if arguments.part and arguments.part not in known:
        mend = f"known: {', '.join(known)}."
        fault = Fault("--part", f"{arguments.part!r} is not a part;", mend)
        raise InputError([fault])
    rules, rows, free = rules_of(site), [], True
    for part in parts:
        reasons = why_not(site, rules, part, x, y)
        free = free and not reasons
        for reason in reasons:
            away = format_length(reason.distance_m, site.unit, 1, rounding="down")
            rule = reason.rule
            asks = _asks(rule) if rule else "inside the parcel"
            if rule is None and reason.feature != PARCEL:
                clear = format_length(reason.asked_m, site.unit, 1, rounding="up")
                asks = f"{clear} from it" if reason.asked_m else "never across it"
            source = f"{rule.book}: {rule.source}" if rule else "common practice, no source"
            if rule is None and reason.feature == PARCEL:
                source = ""
            rows.append((part, "no", reason.feature, away, asks, source))
        stopped = _stopped(site, part, x, y)
        if stopped:
            free = False
            rows.append((part, "no", f"{_machine(part)} access", "", stopped, ""))
        elif not reasons:
            rows.append((part, "yes", "", "", "", ""))
    terminal = Terminal(quiet=False)
    terminal.say(_where(site, x, y))
    headings = ("part", "may lie here", "because of", "distance", "asked", "source")
    terminal.show(columns(headings, rows))
    return 0 if free else 1


def _asks(rule: Rule) -> str:
    """What a rule asks, in few words."""
    if rule.says == "rear yard only":
        return "behind the rear of the house"
    return f"{rule.printed} from {rule.subject}"


def _where(site: Site, x: float, y: float) -> str:
    """The extent of the lot and its nearest corner, so that nobody has to guess coordinates."""
    import numpy as np
    import shapely

    from siteplan.units.lengths import format_length

    unit = site.unit
    west, south, east, north = (value / unit.metres for value in site.parcel.bounds)
    corners = shapely.get_coordinates(site.parcel.exterior)[:-1]
    away = np.hypot(*(corners - (x, y)).T)
    corner_x, corner_y = corners[int(away.argmin())] / unit.metres
    off = format_length(float(away.min()), unit, 1)
    return (
        f"The lot reaches from ({west:,.1f}, {south:,.1f}) to ({east:,.1f}, {north:,.1f}) {unit}, "
        f"x to the east; nearest corner ({corner_x:,.1f}, {corner_y:,.1f}), {off} off."
    )


def _stopped(site: Site, part: Part, x: float, y: float) -> str:
    """Why no drill rig or excavator gets there; empty where one does or the part needs none."""
    from siteplan.available.access import rig_stopped
    from siteplan.findings.words import words_of

    machine = _machine(part)
    stopped = rig_stopped(site, x, y, machine) if machine else None
    return "" if stopped is None else words_of(stopped, site.unit)


def _machine(part: Part) -> MachineKind | Literal[""]:
    """Machine that must come in for a part; empty where none must."""
    loop = that_binds(part)
    return loop.machine if loop is not None else ""
