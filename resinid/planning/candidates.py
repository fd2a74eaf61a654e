"""The tests that can be offered with what is at hand, and what depends on nothing else."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.io.liquid_parser import ROOM
from resinid.liquids.liquid import Liquid
from resinid.liquids.mixing import FLASH, mix, reach, safe_reach
from resinid.methods._guard import liquid_of
from resinid.methods.offered import bath_tests, kernel, plans_of
from resinid.methods.test_plan import TestPlan

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.arrays import Array
    from resinid.liquids.mixing import Reagent, Recipe
    from resinid.methods.bench import Bench
    from resinid.methods.contract import InBath, Method
    from resinid.planning.advice import Suggestion
    from resinid.scoring.latents import Latent

    Measures = tuple[float | None, float | None]

__all__ = [
    "MIXED",
    "UNLESS",
    "Candidates",
    "Family",
    "bath_dangers",
    "candidate_tests",
    "neighbours",
    "oil_last",
    "unlit",
]

STEP: Final = 0.004
"""[g/cm3] Steps in which densities are tried before the best is refined: about as narrow
as the narrowest resin is spread."""

LEAST: Final = 0.002
"""[g/cm3] A bath closer to water than this is water."""

WORTH: Final = 0.05
"""[bit] A float in water, brine or alcohol that tells this much is done before one in oil (common practice, no
source)."""

ANCHORS: Final = 7
"""Baths of one reagent whose uncertainty is worked out; between them it is interpolated."""

MIXED: Final = 250.0
"""[mL] Volume of a bath that is suggested."""

MIXING_MINUTES: Final = {"ethanol": 5.0, "isopropanol": 5.0, "NaCl": 8.0, "CaCl2": 20.0}
"""[min] To measure, mix and clear a bath; calcium chloride must cool (common practice, no source)."""
OTHER_MINUTES: Final = 10.0

UNLESS: Final = (
    f"left out unless {FLASH!r} is allowed, which is for outdoors or under extraction with no flame, switch or hot "
    "plate near, as local codes say"
)
"""When baths are offered whose vapour may be lit."""


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """The float tests in baths of one reagent, any density within its reach.

    Parameters
    ----------
    test : type
        What is done in the bath.
    source : Reagent
    temperature : float
        Of the bath [degC].
    allow : tuple of str
        As for :func:`resinid.liquids.mixing.mix`.
    densities, u : numpy.ndarray
        Densities to try, ascending, and their standard uncertainty [g/cm3].
    by : tuple of float or None, optional
        Step of the scale and division of the cylinder that the parts are measured with [g, mL].
    """

    test: type[InBath]
    source: Reagent
    temperature: float
    allow: tuple[str, ...]
    densities: Array
    u: Array
    by: Measures = (0.1, None)

    def at(self, density: float) -> TestPlan:
        """Return the test in a bath of that density, as if it stood ready."""
        u = float(np.interp(density, self.densities, self.u))
        return self.test.in_bath(Liquid(density, u, self.temperature, f"{self.source} bath"))

    def printed(self, density: float) -> float:
        """Return a density as it is printed, to 0.0001 g/cm3, still within reach."""
        low, high = math.ceil(1e4 * self.densities[0]), math.floor(1e4 * self.densities[-1])
        return float(min(max(round(1e4 * density), low), high)) / 1e4

    def recipe(self, density: float) -> Recipe:
        """Return how to mix a bath of that density."""
        return _mix(density, self.source, self.temperature, self.allow, self.by)

    @property
    def unlit_from(self) -> float:
        """Density from which on its baths cannot be lit [g/cm3]; minus infinity where none can."""
        edge = safe_reach(self.source, self.temperature, u_temperature=ROOM.u)
        return -math.inf if edge == reach(self.source, self.temperature)[1] else edge

    def plan(self, density: float) -> TestPlan:
        """Return the plan to mix a bath and float a chip in it."""
        recipe = self.recipe(density)
        bath = recipe.liquid
        ready = self.test.in_bath(bath)
        return replace(
            ready,
            label=f"mix {density:.4g} g/cm3 from {self.source} and {ready.label.split(' in ')[0]} in it",
            minutes=ready.minutes + MIXING_MINUTES.get(self.source.model.name, OTHER_MINUTES),
            needs=(str(self.source), "water"),
            caution=bath.caution,
            hazard="",
            key=f"{ready.test} in {self.source}",
            recipe=recipe,
        )

    def kernels(self, values: Array) -> Array:
        """Return the chance of each outcome in each bath at values of the density, (baths, outcomes, nodes)."""
        return np.array([kernel(self.at(density), values) for density in self.densities.tolist()])


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """Everything that can be offered with what is at hand.

    Parameters
    ----------
    plans : tuple of TestPlan
        Each by itself.
    families : tuple of Family
        Baths to mix.
    """

    plans: tuple[TestPlan, ...]
    families: tuple[Family, ...]
    _kernels: dict[int, tuple[Latent, Array]] = field(default_factory=dict)

    def at_nodes(self, of: TestPlan | Family, latent: Latent) -> Array:
        """Return the kernel of a plan or family at the nodes of a standing latent, worked out once."""
        found = self._kernels.get(id(of))
        if found is None or found[0] is not latent:
            found = latent, kernel(of, latent.values) if isinstance(of, TestPlan) else of.kernels(latent.values)
            self._kernels[id(of)] = found
        return found[1]


@functools.lru_cache(maxsize=8)
def candidate_tests(bench: Bench, methods: tuple[Method, ...], allow: tuple[str, ...]) -> Candidates:
    """Return what every method offers with what is at hand; a plug-in that fails is left out with a warning."""
    made = [_family(test, source, bench, allow) for test in bath_tests() for source in bench.reagents]
    return Candidates(plans_of(bench, methods), tuple(family for family in made if family is not None))


def _family(test: type[InBath], source: Reagent, bench: Bench, allow: tuple[str, ...]) -> Family | None:
    temperature, by = bench.temperature, (bench.scale, bench.cylinder)
    water = reach(source, temperature)[0]
    extreme = safe_reach(source, temperature, allow, u_temperature=ROOM.u, volume=MIXED)
    low, high = sorted((extreme, water))
    low, high = (low, high - LEAST) if extreme < water else (low + LEAST, high)
    if high - low < LEAST:
        return None
    anchors = np.linspace(low, high, ANCHORS)
    u = [_mix(float(at), source, temperature, allow, by).liquid.u for at in anchors]
    densities = np.linspace(low, high, max(math.ceil((high - low) / STEP) + 1, 3))
    return Family(test, source, temperature, allow, densities, np.interp(densities, anchors, u), by)


def bath_dangers(allow: Iterable[str]) -> tuple[str, ...]:
    """Return what of the dangers allowed has to do with baths: other leave makes no other bath.

    Examples
    --------
    >>> bath_dangers(["burn", "flammable bath"])
    ('flammable bath',)
    """
    return (FLASH,) if FLASH in tuple(allow) else ()


def unlit(bench: Bench, allow: Iterable[str], declined: Iterable[str] = ()) -> tuple[tuple[str, str], ...]:
    """Return the baths that are not offered because their vapour may be lit, and why.

    Examples
    --------
    >>> from resinid.methods.bench import Bench
    >>> unlit(Bench(), ["flammable bath"])
    ()
    """
    at, lit = bench.temperature, bath_dangers(allow)
    cold = " or when the jug is as warm as the room" if at < ROOM.value else ""
    why = f"their vapour may be lit at {at:g} °C{cold}; {UNLESS}"
    left = [
        str(source)
        for source in bench.reagents
        if not {"float", f"float in {source}"} & set(declined)
        and safe_reach(source, at, lit, u_temperature=ROOM.u, volume=MIXED) != reach(source, at)[1]
    ]
    return ((f"lighter baths of {', '.join(left)}", why),) if left else ()


def _mix(density: float, source: Reagent, temperature: float, allow: tuple[str, ...], by: Measures) -> Recipe:
    scale, cylinder = by
    return mix(
        density,
        MIXED,
        source,
        temperature=temperature,
        u_temperature=ROOM.u,
        allow=allow,
        scale=scale,
        cylinder=cylinder,
    )


def oil_last(suggestions: Sequence[Suggestion]) -> list[Suggestion]:
    """Return suggestions with every float in oil behind the last other float that is still worth doing.

    Oil leaves a film, which spoils a float in water, brine or alcohol.

    Examples
    --------
    >>> oil_last([])
    []
    """
    oily = [one for one in suggestions if _in_oil(one)]
    rest = [one for one in suggestions if not _in_oil(one)]
    floats = [place for place, one in enumerate(rest) if _is_float(one) and one.bits >= WORTH]
    if not oily or not floats:
        return list(suggestions)
    behind = [one for one in oily if suggestions.index(one) < suggestions.index(rest[floats[-1]])]
    out: list[Suggestion] = []
    for one in suggestions:
        if one not in behind:
            out.append(one)
        if one is rest[floats[-1]]:
            out += behind
    return out


def _is_float(one: Suggestion) -> bool:
    return hasattr(type(one.plan.outcomes[0]), "in_bath")


def _in_oil(one: Suggestion) -> bool:
    jug = liquid_of(one.plan.outcomes[0])
    return _is_float(one) and jug is not None and jug.oily


def neighbours(densities: Array, index: int) -> tuple[float, float]:
    """Return the densities to either side of one in a family.

    Examples
    --------
    >>> neighbours(np.array([1.0, 1.1, 1.2]), 2)
    (1.1, 1.2)
    """
    return float(densities[max(index - 1, 0)]), float(densities[min(index + 1, len(densities) - 1)])
