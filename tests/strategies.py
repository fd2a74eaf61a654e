"""Hypothesis strategies of observations, drawn over plausible readings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from hypothesis import settings
from hypothesis import strategies as st

from resinid import observe
from resinid.quantities import ASPECTS

if TYPE_CHECKING:
    from resinid.methods.contract import Observation

SETTINGS: Final = settings(max_examples=60, deadline=None)
"""Each example scores a piece or two; the slow suite repeats the laws with more."""

LIQUIDS: Final = (
    "water",
    "water at 25 degC",
    "ethanol 40 %v/v",
    "ethanol 55 %v/v",
    "isopropanol 70 %v/v",
    "table salt 110 g/kg water",
    "table salt saturated",
    "CaCl2 400 g/kg water",
)


def written(value: float, u: float, unit: str) -> str:
    """Write a reading with its uncertainty, to full precision."""
    return f"{value!r} ± {u!r} {unit}"


densities = st.floats(0.02, 2.3)
spreads = st.floats(1e-4, 0.05)


@st.composite
def measured_densities(draw: st.DrawFn) -> Observation:
    return observe("density", density=written(draw(densities), draw(spreads), "g/cm3"))


@st.composite
def floats(draw: st.DrawFn) -> Observation:
    outcome = draw(st.sampled_from(("floats", "hovers", "sinks")))
    return observe("float", liquid=draw(st.sampled_from(LIQUIDS)), outcome=outcome)


@st.composite
def weighings(draw: st.DrawFn) -> Observation:
    """A weighing of a piece that sinks, its readings made from a density."""
    density, mass, scale = draw(st.floats(1.02, 2.3)), draw(st.floats(0.5, 50.0)), draw(st.floats(0.001, 0.05))
    shown = mass * (density - 0.9982) / (density - 0.0012)
    return observe("weighing", in_air=written(mass, scale, "g"), in_liquid=written(shown, scale, "g"), liquid="water")


@st.composite
def softenings(draw: st.DrawFn) -> Observation:
    return observe("softening", temperature=written(draw(st.floats(40.0, 350.0)), draw(st.floats(0.5, 10.0)), "degC"))


@st.composite
def hot_plates(draw: st.DrawFn) -> Observation:
    low = draw(st.floats(40.0, 300.0))
    ends = draw(st.sampled_from(("both", "low", "high")))
    readings: dict[str, Any] = {}
    if ends != "high":
        readings["not_melted_at"] = written(low, 2.0, "degC")
    if ends != "low":
        readings["melted_at"] = written(low + draw(st.floats(5.0, 60.0)), 2.0, "degC")
    return observe("hot_plate", **readings)


@st.composite
def charrings(draw: st.DrawFn) -> Observation:
    seen = draw(st.sampled_from(("charred", "unchanged")))
    return observe("charring", heated_to=written(draw(st.floats(100.0, 350.0)), 2.0, "degC"), seen=seen)


@st.composite
def bends(draw: st.DrawFn) -> Observation:
    """A three-point bend whose readings are made from a modulus [MPa]."""
    modulus, span = draw(st.floats(20.0, 10000.0)), 60.0
    deflection = draw(st.floats(0.5, 5.0))
    load = 4 * 10.0 * 3.0**3 * deflection * modulus / span**3
    return observe(
        "three_point_bend",
        load=written(load, 0.02 * load, "N"),
        span="60 ± 0.5 mm",
        width="10 ± 0.1 mm",
        thickness="3 ± 0.05 mm",
        deflection=written(deflection, 0.1, "mm"),
    )


feels = st.sampled_from(("limp", "flexible", "semi-rigid", "rigid")).map(lambda word: observe("feel", outcome=word))
aspects = st.sampled_from([(name, outcome) for name, outcomes in ASPECTS.items() for outcome in outcomes]).map(
    lambda pair: observe(pair[0], outcome=pair[1])
)

observations = st.one_of(
    measured_densities(), floats(), weighings(), softenings(), hot_plates(), charrings(), bends(), feels, aspects
)
"""Any one observation of any built-in test but the volumes, which score as the weighings do."""
