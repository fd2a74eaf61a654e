"""Float test: a wetted chip floats, hovers or sinks in a liquid of known density."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar, Final

from resinid.io.fields import choice, number
from resinid.io.liquid_parser import liquid_field
from resinid.liquids.expansion import at_room
from resinid.liquids.flash import FLASH, WARM, lit_caution, may_be_lit
from resinid.methods.contract import Method
from resinid.methods.likelihoods import below
from resinid.methods.outlier import outlier_chance
from resinid.methods.test_plan import TestPlan
from resinid.scoring.term import SharedError, Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.liquids import Liquid
    from resinid.methods.bench import Bench


__all__ = ["METHOD", "FloatTest"]

HOVER: Final = 0.001
"""[g/cm3] A chip closer than this to the liquid's density neither rises nor sinks
within some seconds (common practice, no source)."""

JUDGEMENT: Final = 0.001
"""[g/cm3] Standard deviation of that limit between people and chips (common practice, no source)."""

OUTLIER: Final = outlier_chance(2)
"""Chance that a float test shows something else than the density, or was noted wrongly."""

OUTLIER_LIKELIHOODS: Final = MappingProxyType({"floats": 0.75, "hovers": 0.15, "sinks": 0.10})
"""What a botched test shows: clinging bubbles, trapped air and surface tension lift a
chip; only soaked-up liquid, dirt or metal drag it down (common practice, no source)."""

MINUTES: Final = 1.0
"""[min] For one chip in a jug that stands ready (common practice, no source)."""

OILY_MINUTES: Final = 4.0
"""[min] The same in oil, which is thick, and to wash the chip and the hands (common practice, no source)."""

STEPS: Final = (
    "Wet a chip free of label, paint and hollows, and put it into the jug with a drop of washing-up liquid.",
    "Push it under, knock off every bubble, let go, and watch for half a minute.",
)

OILY_STEPS: Final = (
    "Last of all floats, after water, brine and alcohol: put a dry chip free of label, paint and hollows into the oil.",
    "Push it under, knock off every bubble, let go, and watch for two minutes; then wash it with washing-up liquid.",
)


@dataclass(frozen=True, slots=True)
class FloatTest:
    """A chip was wetted, pushed under, freed of bubbles and let go.

    Parameters
    ----------
    liquid : Liquid
        What it was put in.
    outcome : {"floats", "hovers", "sinks"}
        What it did.
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    The chip is as warm as the liquid; outside 20 to 26 degC its density at room temperature
    is compared, by the expansion of plastics in :mod:`resinid.liquids.expansion`.
    """

    test: ClassVar[str] = "float"
    observes: ClassVar[str] = "density"

    liquid: Liquid = liquid_field()
    outcome: str = choice(("floats", "hovers", "sinks"))
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the chance of the outcome at each density at room temperature [g/cm3]."""
        density, u = at_room(self.liquid)
        if error is None:
            limit: Array | float = density
            width = math.hypot(JUDGEMENT, u)
        else:
            limit, width = density + u * error, JUDGEMENT
        if self.outcome == "floats":
            return below(values, limit - HOVER, width)
        if self.outcome == "sinks":
            return 1.0 - below(values, limit + HOVER, width)
        return below(values, limit + HOVER, width) - below(values, limit - HOVER, width)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        density, u = at_room(self.liquid)
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=OUTLIER_LIKELIHOODS[self.outcome],
            feature=(density, math.hypot(JUDGEMENT, u)),
            shared=SharedError(self.liquid, JUDGEMENT / u),
        )

    def describe(self) -> str:
        """Return the outcome and the liquid."""
        return f"{self.outcome} in {self.liquid.label} ({self.liquid.density:.4f} g/cm3)"

    @classmethod
    def in_bath(cls, jug: Liquid) -> TestPlan:
        """Return the test in one jug of liquid.

        One whose vapour may be lit is taken for a small one at room temperature, as its caution
        says; warmer than that it has the danger as its hazard.
        """
        lit = jug.flash is not None and may_be_lit(jug)
        small = jug.temperature <= WARM
        caution = jug.caution
        if jug.flash is not None and lit and "FLAMMABLE" not in caution:
            caution = lit_caution(jug.flash, small=small, also=caution)
        return TestPlan(
            cls.test,
            f"float a chip in {jug.label} ({jug.density:.4g} g/cm3)",
            tuple(cls(jug, outcome) for outcome in OUTLIER_LIKELIHOODS),
            OILY_MINUTES if jug.oily else MINUTES,
            OILY_STEPS if jug.oily else STEPS,
            needs=(jug.label,),
            caution=caution,
            hazard=FLASH if lit and not small else "",
            key=f"float in {jug.label}",
        )

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield a test in each jug that stands ready; baths to mix are chosen by their density elsewhere."""
        yield from map(cls.in_bath, bench.jugs)


METHOD: Final = Method(
    name="float test",
    version="1",
    summary="Float, hover or sink in water, brine, alcohol-water or any liquid of known density.",
    caution=(
        "Alcohol baths are flammable even when diluted: keep them covered, labelled and in another place than "
        "flame or hot plate. Wear eye protection with strong salt solutions."
    ),
    sources=("common practice, no source",),
    tests=(FloatTest,),
)
