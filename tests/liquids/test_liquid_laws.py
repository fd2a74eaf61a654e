"""Laws every density model and conversion keeps."""

from __future__ import annotations

import math
import pickle

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from resinid.errors import RangeError
from resinid.liquids import (
    BASES,
    MODELS,
    LiquidModel,
    amount_of,
    from_recipe,
    mass_fraction,
    mix_volumes,
    strength_fraction,
    water_density,
)

SETTINGS = settings(max_examples=200, deadline=None)
SHARE = st.floats(0.0, 1.0)
HEAVY = sorted(name for name, entry in MODELS.items() if name not in {"water", "ethanol", "isopropanol"})
LIQUID = sorted(name for name, entry in MODELS.items() if entry.is_liquid)


@st.composite
def points(draw: st.DrawFn, names: list[str] | None = None) -> tuple[LiquidModel, float, float]:
    """Draw a model with a mass fraction and a temperature inside its range."""
    found = MODELS[draw(st.sampled_from(names or sorted(MODELS)))]
    t = draw(st.floats(found.t_low, found.t_high))
    return found, draw(SHARE) * found.limit(t), t


@SETTINGS
@given(points())
def test_density_and_uncertainty_are_positive(point: tuple[LiquidModel, float, float]) -> None:
    """A density lies between those of alcohol and strong potash; its uncertainty is above 0, below 0.01."""
    found, w, t = point
    assert 0.75 < found.density(w, t) < 1.6
    assert 0.0 < found.uncertainty(w, t) < 0.01


@SETTINGS
@given(points())
def test_without_solute_every_model_is_water(point: tuple[LiquidModel, float, float]) -> None:
    """At w = 0 every model equals water within its own uncertainty."""
    found, _, t = point
    assert abs(found.density(0.0, t) - water_density(t)) <= found.uncertainty(0.0, t)


@SETTINGS
@given(points(HEAVY), st.floats(1e-4, 0.05))
def test_more_solute_is_denser(point: tuple[LiquidModel, float, float], step: float) -> None:
    """Density rises with the mass fraction of a salt, of sugar and of glycerol."""
    found, w, t = point
    more = min(w + step, found.limit(t))
    assume(more - w >= 1e-4)
    assert found.density(more, t) > found.density(w, t)


@SETTINGS
@given(points(["ethanol", "isopropanol"]), st.floats(1e-4, 0.05))
def test_more_alcohol_is_lighter(point: tuple[LiquidModel, float, float], step: float) -> None:
    """Density falls with the mass fraction of alcohol at 10 degC and above."""
    found, w, t = point
    more = min(w + step, 1.0)
    assume(more - w >= 1e-4 and t >= 10.0)
    assert found.density(more, t) < found.density(w, t)


@SETTINGS
@given(points())
def test_density_is_continuous(point: tuple[LiquidModel, float, float]) -> None:
    """A millionth more solute and a thousandth of a kelvin change the density by no more than 5e-6 g/cm3."""
    found, w, t = point
    near_w = max(0.0, w - 1e-6)
    near_t = max(found.t_low, t - 1e-3)
    assert abs(found.density(near_w, near_t) - found.density(w, t)) < 5e-6


@SETTINGS
@given(points(), st.floats(0.1, 5.0))
def test_warmer_is_lighter(point: tuple[LiquidModel, float, float], step: float) -> None:
    """Above 5 degC every test liquid expands when warmed."""
    found, w, t = point
    assume(t >= 5.0 and t + step <= found.t_high)
    assert found.density(w, t + step) < found.density(w, t)


@SETTINGS
@given(points(sorted(set(MODELS) - {"water"})), st.sampled_from(BASES))
def test_amount_and_mass_fraction_are_inverse(point: tuple[LiquidModel, float, float], basis: str) -> None:
    """An amount turned into a mass fraction and back is the same amount, on every basis."""
    found, w, t = point
    assume(found.is_liquid or basis not in {"%v/v", "mL/L water"})
    # At w = 1 no amount added to water is enough; near it the amount is ill-conditioned.
    assume(w < 0.999)
    amount = amount_of(found.name, w, basis, temperature=t)
    assert amount >= 0.0
    assert mass_fraction(found.name, amount, basis, temperature=t) == pytest.approx(w, rel=1e-9, abs=1e-12)


@SETTINGS
@given(st.sampled_from(LIQUID), st.floats(30.0, 100.0), SHARE, st.sampled_from(BASES))
def test_bottles_are_inverse_too(name: str, strength: float, share: float, basis: str) -> None:
    """The same round trip holds when the amount is of a bottle of some strength."""
    own = strength_fraction(name, strength)
    w = 0.98 * share * own
    amount = amount_of(name, w, basis, strength=strength)
    assert mass_fraction(name, amount, basis, strength=strength) == pytest.approx(w, rel=1e-9, abs=1e-12)


@SETTINGS
@given(st.sampled_from([("CaCl2", "CaCl2.2H2O"), ("CaCl2", "CaCl2.6H2O"), ("MgSO4", "Epsom salt")]), SHARE)
def test_a_hydrate_needs_more_grams(pair: tuple[str, str], share: float) -> None:
    """The same mass fraction takes more of the hydrate than of the anhydrous salt, on every weighed basis."""
    plain, hydrate = pair
    w = (0.01 + 0.99 * share) * 0.20
    for basis in ("%w/w", "g/kg water", "g/L water", "g/L"):
        assert amount_of(hydrate, w, basis) > amount_of(plain, w, basis)


@SETTINGS
@given(st.sampled_from(["ethanol", "isopropanol"]), st.floats(1.0, 100.0), st.floats(1.0, 100.0))
def test_mixing_alcohol_and_water_shrinks(name: str, liquid: float, water: float) -> None:
    """The volume of a mixture of alcohol and water is less than the sum, by no more than 4 %."""
    _, volume = mix_volumes(name, liquid, water)
    assert 0.96 * (liquid + water) < volume < liquid + water


@SETTINGS
@given(st.floats(1.0, 300.0), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_wider_inputs_never_sharpen(amount: float, u_temperature: float, u_amount: float) -> None:
    """Doubling the uncertainty of temperature and amount does not lower that of the density."""
    assume(u_amount < amount)
    once = from_recipe("salt", amount, "g/kg water", u_temperature=u_temperature, u_amount=u_amount)
    twice = from_recipe("salt", amount, "g/kg water", u_temperature=2 * u_temperature, u_amount=2 * u_amount)
    assert once.u >= MODELS["NaCl"].uncertainty(0.0, 20.0)
    # Not exactly, for a side that leaves the range is cut short.
    assert twice.u >= 0.99 * once.u


@pytest.mark.parametrize("name", sorted(MODELS))
def test_models_survive_pickling(name: str) -> None:
    """A model sent to another process is the same model."""
    again = pickle.loads(pickle.dumps(MODELS[name]))  # noqa: S301 - our own bytes
    assert again == MODELS[name]


@pytest.mark.parametrize("name", sorted(MODELS))
def test_outside_the_range_is_refused(name: str) -> None:
    """Just beyond every edge the model refuses; on the edge it does not."""
    found = MODELS[name]
    top = found.limit(20.0)
    found.check(top, 20.0)
    found.check(0.0, found.t_low)
    found.check(0.0, found.t_high)
    for w, t in (
        (top + 1e-9, 20.0),
        (-1e-9, 20.0),
        (math.nan, 20.0),
        (0.0, found.t_low - 0.01),
        (0.0, found.t_high + 0.01),
        (0.0, math.nan),
    ):
        with pytest.raises(RangeError, match="outside"):
            found.check(w, t)
