"""What all elements of a layout have in common, in words."""

from __future__ import annotations

from siteplan.layout.elements import SHALLOW_M, Trench
from siteplan.layout.model import Layout
from siteplan.sheet.style.formats import mark, short_mark
from siteplan.units.model import UnitSystem


def leaning_words(unit: UnitSystem) -> str:
    """How tilt, azimuth and distances of inclined bores are meant."""
    upper = short_mark(SHALLOW_M, unit, rounding="down")
    return (
        "Tilt from the vertical; towards: clockwise from north. Depth "
        f"along the bore. Distances hold for its upper {upper}, from wells for the whole bore, and "
        "where the table says so."
    )


def trench_facts(layout: Layout, unit: UnitSystem, *, bends: str = "see elements.csv") -> str:
    """What all trenches of a layout have in common, and where their bends are listed."""
    trenches = layout.of(Trench)
    pipes = trenches[0].pipes
    bent = any(len(trench.line.coords) > 2 for trench in trenches)
    facts = f"{short_mark(trenches[0].width_m, unit)} wide, {pipes} pipe{'' if pipes == 1 else 's'}"
    if any(trench.is_ring for trench in trenches):
        facts += ". Length of a ring: its circumference"
    return facts + (f". Bends: {bends}" if bent else "")


def crossover_words(layout: Layout, unit: UnitSystem) -> str:
    """Crossovers with their trenches and lengths, and where they bend."""
    each = [
        " ".join(
            (
                crossover.id,
                " to ".join(crossover.trenches),
                mark(crossover.length_m, unit, rounding="up"),
            )
        )
        for crossover in layout.crossovers
    ]
    bent = any(len(crossover.line.coords) > 2 for crossover in layout.crossovers)
    sentence = f"Crossover trenches from far end to far end, as deep as theirs: {', '.join(each)}."
    return sentence + (" Bends: see elements.csv." if bent else "")


def groups_words(layout: Layout) -> str:
    """What the column of groups means; empty without groups."""
    if not groups_by_element(layout):
        return ""
    return "GRP: group of circuits on run-outs of their own; outlined on the plan."


def groups_by_element(layout: Layout) -> dict[str, str]:
    """Groups of circuits that run through each element; empty where the field is not divided.

    Examples
    --------
    >>> from siteplan.layout.piping_model import Circuit
    >>> near, far = (Circuit(f"C{k}", ("T1",), "1 in", 9.0, 2, group=f"G{k}") for k in (1, 2))
    >>> groups_by_element(Layout("horizontal", (), None, 3.0, 0.0, circuits=(near, far)))
    {'T1': 'G1, G2'}
    """
    groups: dict[str, list[str]] = {}
    for circuit in layout.circuits:
        for name in circuit.elements if circuit.group else ():
            groups.setdefault(name, []).append(circuit.group)
    return {name: ", ".join(dict.fromkeys(each)) for name, each in groups.items()}


def circuits_by_element(layout: Layout) -> dict[str, str]:
    """Circuits that run through each element: the first by its whole name, of others the number.

    Examples
    --------
    >>> from siteplan.layout.piping_model import Circuit
    >>> made = tuple(Circuit(f"CIR-{k}", ("T1",), "1 in", 9.0, 2) for k in range(1, 5))
    >>> circuits_by_element(Layout("horizontal", (), None, 3.0, 0.0, circuits=made[:2]))
    {'T1': 'CIR-1, 2'}
    >>> circuits_by_element(Layout("horizontal", (), None, 3.0, 0.0, circuits=made))
    {'T1': 'CIR-1 to 4'}
    """
    names: dict[str, list[str]] = {}
    for circuit in layout.circuits:
        for name in dict.fromkeys(circuit.elements):
            names.setdefault(name, []).append(circuit.id)
    return {name: _in_short(each) for name, each in names.items()}


def _in_short(names: list[str]) -> str:
    """Names of circuits that are counted up."""
    numbers = [name.rpartition("-")[2] for name in names]
    counted = len(numbers) > 2 and all(map(str.isdigit, numbers))
    if counted and int(numbers[-1]) - int(numbers[0]) == len(numbers) - 1:
        return f"{names[0]} to {numbers[-1]}"
    return ", ".join([names[0], *numbers[1:]])


def inches(length_m: float, unit: UnitSystem) -> str:
    """Diameter of a bore in inches or millimetres."""
    return unit.small.text(length_m)
