"""Conduction in and around a bore with pipes, by multipoles: an own solution for tests.

Line sources and multipoles at each pipe, with their images in the wall of the bore, are fitted to
the walls of the pipes (method of J. Claesson and G. Hellstrom, HVAC&R Research 17(6), 2011). It
shares nothing with the formula of the package.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

POINTS = 48
"""Points on the wall of each pipe at which the temperature of the fluid is met."""


@dataclass(frozen=True)
class PipedBore:
    """A bore with pipes of one size [m, W/(m K), m K/W]."""

    radius: float
    pipe_radius: float
    pipes: Sequence[complex]
    grout: float
    ground: float
    pipe_resistance: float
    order: int = 10


def resistances(bore: PipedBore) -> NDArray[np.float64]:
    """Fluid temperatures for a watt a metre from each pipe, above the wall's mean [m K/W]."""
    return np.array([_temperatures(bore, number) for number in range(len(bore.pipes))])


def equal_flow(bore: PipedBore) -> float:
    """Resistance from fluid to wall where all pipes have the same temperature [m K/W]."""
    return float(1 / np.linalg.inv(resistances(bore)).sum())


def _temperatures(bore: PipedBore, source: int) -> NDArray[np.float64]:
    """Fluid temperatures where one pipe alone gives off a watt a metre [K]."""
    count, order = len(bore.pipes), bore.order
    spokes = np.exp(2j * np.pi * np.arange(POINTS) / POINTS)
    beta = 2 * np.pi * bore.grout * bore.pipe_resistance
    # a column for each fluid temperature, then real and imaginary part of each multipole
    rows, right = [], []
    for at, centre in enumerate(bore.pipes):
        places = centre + bore.pipe_radius * spokes

        def shown(field, places=places, centre=centre):
            """What a field adds to the fluid: its value less beta r times its slope outwards."""
            step = 1e-6 * bore.pipe_radius
            out, inside = (centre + (places - centre) * (1 + s / bore.pipe_radius)
                           for s in (step, -step))  # fmt: skip
            slope = (field(out) - field(inside)) / (2 * step)
            return field(places) - beta * bore.pipe_radius * slope

        # the flow of a pipe is its line source; multipoles carry none
        columns = [-(np.full(POINTS, float(at == fluid))) for fluid in range(count)]
        for pipe in bore.pipes:
            for power in range(1, order + 1):
                columns += [shown(_multipole(bore, pipe, power, turn)) for turn in (1, 1j)]
        rows.append(np.array(columns).T)
        right.append(-shown(_line(bore, bore.pipes[source])))
    solution, *_ = np.linalg.lstsq(np.concatenate(rows), np.concatenate(right), rcond=None)
    return np.asarray(solution[:count])


def _sigma(bore: PipedBore) -> float:
    return (bore.grout - bore.ground) / (bore.grout + bore.ground)


def _line(bore: PipedBore, pipe: complex):
    def field(z):
        own = np.log(bore.radius / abs(z - pipe))
        image = np.log(bore.radius**2 / abs(bore.radius**2 - z * np.conj(pipe)))
        return (own + _sigma(bore) * image) / (2 * np.pi * bore.grout)

    return field


def _multipole(bore: PipedBore, pipe: complex, power: int, turn: complex):
    def field(z):
        own = (bore.pipe_radius / (z - pipe)) ** power
        image = bore.pipe_radius * np.conj(z) / (bore.radius**2 - pipe * np.conj(z))
        return np.real(turn * (own + _sigma(bore) * image**power))

    return field
