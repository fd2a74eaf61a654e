"""Heat into and out of a flat charge inside its mould: temperature and heat content, layer by layer.

The charge is cut into equal parts by mass, the mould's wall into equal parts by thickness. Each part
holds a heat content ``H`` a unit of area, from which its temperature follows: crystals take up their
heat of fusion over the degrees in which they melt, not before (the enthalpy method; Carslaw & Jaeger,
Conduction of Heat in Solids, 2nd ed., chapter XI, from memory). Neighbouring parts are two half
resistances in series, a loose part's resistance falling to the dense one's as it melts and the bed
sinks together; since parts are equal by mass, nothing else changes where it sinks. The flux at the face
is ``h (T_source - T)``; the innermost face, the middle or an insulated one, passes none.

A step is implicit in temperature with the heat capacity of its start, and the heat content then takes
exactly the heat that flowed in (Pham, Int. J. Heat Mass Transfer 28 (1985) 2079, from memory); a second
pass takes the capacity over the step instead, for parts that begin or end melting in it. Each pass is one
set of three-diagonal equations, stable at any step. All cases are solved as one set, each with its own
steps, which grow by 4 % each, to at most a thirtieth of the case's time scale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from resinid.arrays import Array

__all__ = ["Case", "Course", "Part", "followed", "solve"]

PARTS: Final = 16
"""Of the charge."""

FIRST: Final = 1.0 / 400.0
"""First step over the time scale of a case (resistance times heat to take up)."""

GROWTH: Final = 1.04
"""Of a step over the one before."""

LONGEST: Final = 1.0 / 30.0
"""Longest step over the same scale. With these four a time is within 2.5 % of that with steps and parts far finer; with
steps twice as long a part can leap its melting range within one, and 5 % are missed (a test)."""

PASSES: Final = 2
"""Of a step. With one, a step that ends a part's melting misses up to 5 %."""

DAY: Final = 86_400.0
"""[s] Longest step of what has arrived."""

WAITING: Final = 1.3
"""Growth of a step of what has arrived."""

MOST_STEPS: Final = 1500
"""By then a step is longer than any time asked for; what is not reached by then never is."""


@dataclass(frozen=True, slots=True)
class Part:
    """A layer of one material: of the mould's wall, or the charge.

    Parameters
    ----------
    capacity : float
        Heat capacity of its area [J/(m2 K)].
    resistance : float
        Thickness over conductivity [m2 K/W], dense.
    loose : float, optional
        The same before it has sunk together; as dense where not given.
    fusion : float, optional
        Heat of fusion of its area [J/m2].
    melting : tuple of float, optional
        Temperatures [degC] between which that is taken up.
    sinking : tuple of float, optional
        Temperatures [degC] between which a loose part sinks together.
    count : int, optional
        Into how many it is cut.
    contact : float, optional
        Coefficient [W/(m2 K)] towards the next layer outwards, or the source.
    """

    capacity: float
    resistance: float
    loose: float = 0.0
    fusion: float = 0.0
    melting: tuple[float, float] = (1000.0, 1001.0)
    sinking: tuple[float, float] = (1000.0, 1001.0)
    count: int = PARTS
    contact: float = math.inf


@dataclass(frozen=True, slots=True)
class Case:
    """Layers from the outside to the middle, and what they are put beside.

    Parameters
    ----------
    layers : tuple of Part
        The last is the charge, of which half stands here where both faces pass heat.
    source : float
        Temperature of plate or air [degC].
    starts : tuple of float
        Temperature of each layer at first [degC].
    target : float
        Temperature [degC] that the innermost part is to reach, from either side.
    """

    layers: tuple[Part, ...]
    source: float
    starts: tuple[float, ...]
    target: float


@dataclass(frozen=True, slots=True)
class Course:
    """How it went.

    Parameters
    ----------
    minutes : float
        Until the innermost part had its temperature; infinite where it never has.
    used : float
        Integral of the rate that :func:`solve` was given over those minutes, at the hotter of outer face and middle.
    after : float
        Temperature [degC] of the innermost part at the moment asked for.
    heat : float
        That the layers took up in those minutes [J/m2].
    """

    minutes: float
    used: float
    after: float
    heat: float


def solve(cases: Sequence[Case], rate: Callable[[Array], Array] | None = None, moment: float = 0.0) -> list[Course]:
    """Return how each case goes.

    Parameters
    ----------
    cases : sequence of Case
    rate : callable, optional
        Of temperatures [degC] to a rate [1/min] that is added up at the hottest part of the charge.
    moment : float, optional
        [min] at which the innermost temperature is wanted.

    Examples
    --------
    >>> slab = Part(capacity=0.01 * 950.0 * 2250.0, resistance=0.01 / 0.34, contact=400.0)
    >>> found, = solve([Case((slab,), 200.0, (20.0,), 150.0)])
    >>> 7 < found.minutes < 9
    True
    """
    grid = _Grid(cases)
    return grid.run(rate, 60.0 * moment)


def followed(case: Case) -> tuple[Array, Array]:
    """Return the steps of one case [min], and at each the temperatures of its charge from the face inwards [degC].

    Examples
    --------
    >>> slab = Part(capacity=0.01 * 950.0 * 2250.0, resistance=0.01 / 0.34, contact=400.0)
    >>> minutes, found = followed(Case((slab,), 200.0, (20.0,), 150.0))
    >>> found.shape == (minutes.size, PARTS), bool((np.diff(found, axis=1) <= 0.0).all())
    (True, True)
    """
    grid = _Grid([case])
    steps = [(0.0, grid.start)]
    grid.run(None, 0.0, steps)
    minutes = np.array([now for now, _ in steps]) / 60.0
    return minutes, np.array([temperature[grid.face[0] :] for _, temperature in steps])


class _Grid:
    """All parts of all cases in one row."""

    def __init__(self, cases: Sequence[Case]) -> None:
        layers = [(case, layer, start) for case in cases for layer, start in zip(case.layers, case.starts, strict=True)]
        counts = np.array([layer.count for _, layer, _ in layers])

        def spread(values: Sequence[float], share: bool = False) -> Array:  # noqa: FBT001, FBT002
            found = np.array(values, dtype=float)
            return np.repeat(found / counts if share else found, counts)

        self.capacity = spread([layer.capacity for _, layer, _ in layers], share=True)
        self.dense = spread([layer.resistance for _, layer, _ in layers], share=True)
        self.loose = spread([layer.loose or layer.resistance for _, layer, _ in layers], share=True)
        self.fusion = spread([layer.fusion for _, layer, _ in layers], share=True)
        self.low, self.high = (spread([layer.melting[end] for _, layer, _ in layers]) for end in (0, 1))
        self.sinks, self.sunk = (spread([layer.sinking[end] for _, layer, _ in layers]) for end in (0, 1))
        self.start = spread([start for _, _, start in layers])
        size = [sum(layer.count for layer in case.layers) for case in cases]
        self.case = np.repeat(np.arange(len(cases)), size)
        self.last = np.cumsum(size) - 1
        self.first = self.last - np.array(size) + 1
        self.face = self.last - np.array([case.layers[-1].count for case in cases]) + 1
        heads = np.cumsum(counts) - counts
        self.contact = np.zeros(self.case.size)
        self.contact[heads] = [1.0 / layer.contact for _, layer, _ in layers]
        self.inner = np.ones(self.case.size)
        self.inner[self.first] = 0.0
        self.slope = self.fusion / (self.high - self.low)
        self.begun = self.capacity * self.low
        self.whole = self.fusion + self.capacity * (self.high - self.low)
        self.sinking = bool((self.loose != self.dense).any())
        self.source = np.array([case.source for case in cases])
        self.target = np.array([case.target for case in cases])

    def temperature(self, heat: Array) -> Array:
        """Return the temperature that goes with a heat content."""
        share = np.minimum(np.maximum((heat - self.begun) / self.whole, 0.0), 1.0)
        return np.asarray((heat - share * self.fusion) / self.capacity)

    def run(
        self, rate: Callable[[Array], Array] | None, moment: float, steps: list[tuple[float, Array]] | None = None
    ) -> list[Course]:
        """Step until every case has arrived and the moment [s] is past; put down the first one's steps if asked."""
        temperature = self.start.copy()
        heat = self.capacity * temperature + self._molten(temperature) * self.fusion
        scale = np.add.reduceat(self.loose + self.contact, self.first) * np.add.reduceat(self.capacity, self.first)
        step, longest = FIRST * scale, LONGEST * scale
        rising = np.where(self.source > temperature[self.last], 1.0, -1.0)
        count = self.source.size
        now, used, taken = np.zeros(count), np.zeros(count), np.zeros(count)
        after = temperature[self.last].copy()
        arrived = rising * (after - self.target) >= 0.0
        minutes = np.where(arrived, 0.0, np.inf)
        for _ in range(MOST_STEPS):
            outward = self._conductance(temperature)
            found, heat = self._solved(temperature, heat, outward, step)
            fresh = self.temperature(heat)
            old, new = temperature[self.last], fresh[self.last]
            crossing = ~arrived & (rising * (new - self.target) >= 0.0)
            share = np.where(crossing, (self.target - old) / np.where(new == old, 1.0, new - old), 1.0)
            share = np.where(arrived, 0.0, np.clip(share, 0.0, 1.0))
            minutes = np.where(crossing, (now + share * step) / 60.0, minutes)
            if rate is not None:
                used += share * step / 60.0 * rate(self._hottest(fresh, outward))
            taken += share * step * outward[self.first] * (self.source - found[self.first])
            passing = (now <= moment) & (moment <= now + step)
            after = np.where(passing, old + (new - old) * (moment - now) / step, after)
            arrived |= crossing
            temperature, now = fresh, now + step
            if steps is not None:
                steps.append((float(now[0]), temperature))
            if arrived.all() and float(now.min()) >= moment:
                break
            # What has arrived only waits for the moment asked for.
            step = np.where(arrived, np.minimum(step * WAITING, DAY), np.minimum(step * GROWTH, longest))
        return [Course(*map(float, each)) for each in zip(minutes, used, after, taken, strict=True)]

    def _molten(self, temperature: Array) -> Array:
        """Return which share of its heat of fusion each part has taken up when it is first put in."""
        return np.clip((temperature - self.low) / (self.high - self.low), 0.0, 1.0)

    def _conductance(self, temperature: Array) -> Array:
        """Return what passes from each part's outer neighbour to it [W/(m2 K)]."""
        resistance = self.loose
        if self.sinking:
            sunk = np.minimum(np.maximum((temperature - self.sinks) / (self.sunk - self.sinks), 0.0), 1.0)
            resistance = self.loose + sunk * (self.dense - self.loose)
        half = 0.5 * resistance
        between = half + self.contact
        between[1:] += self.inner[1:] * half[:-1]
        return 1.0 / between

    def _solved(self, temperature: Array, heat: Array, outward: Array, step: Array) -> tuple[Array, Array]:
        """Return the temperatures that drove a step, and the heat content after it."""
        within = (temperature >= self.low) & (temperature < self.high)
        held = self.capacity + within * self.slope
        for _ in range(PASSES):
            found = self._step(temperature, held, outward, step)
            after = heat + held * (found - temperature)
            # Where a part begins or ends melting in the step, the capacity over it is the one to take.
            rise = self.temperature(after) - temperature
            held = np.where(np.abs(rise) > 1e-9, (after - heat) / np.where(rise == 0.0, 1.0, rise), held)
        return found, after

    def _step(self, temperature: Array, held: Array, outward: Array, step: Array) -> Array:
        """Return temperatures after a step with these heat capacities."""
        from scipy.linalg.lapack import dgtsv

        rate = held / step[self.case]
        right = rate * temperature
        right[self.first] += outward[self.first] * self.source
        main = rate + outward
        passed = self.inner[1:] * outward[1:]
        main[:-1] += passed
        *_, found, _ = dgtsv(-passed, main, -passed, right)
        return np.asarray(found)

    def _hottest(self, temperature: Array, outward: Array) -> Array:
        """Return the temperature of the charge's outer face, or of its middle where that is hotter."""
        beyond = np.where(self.face == self.first, self.source, temperature[np.maximum(self.face - 1, 0)])
        inside = temperature[self.face]
        face = inside + (beyond - inside) * outward[self.face] * 0.5 * self.dense[self.face]
        return np.asarray(np.maximum(face, temperature[self.last]))
