"""The melt plan of an accepted mix: how hot, how dry, how long, how much, how large a mould."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from resinid.batches.bag_posterior import CONCENTRATION
from resinid.batches.compatibility import MeltCompatibility, judge
from resinid.batches.melt_flow import stiffness
from resinid.batches.melt_temperature import melt_heat, shaping
from resinid.batches.mix import Mix, mix_of, weights_of
from resinid.batches.mix_part import mix_part
from resinid.batches.ranges import Ends, mean_ends, printed_range
from resinid.errors import Fault, Faults, InputError
from resinid.heating.verdict import DANGER_LIMIT, DO_NOT_HEAT
from resinid.io.reading import Reading, read
from resinid.melting.conduction import middle_temperature, time_to_reach
from resinid.melting.measured_density import measured_density
from resinid.melting.steps import Heating, MeltPlan, Steps
from resinid.melting.thermal_properties import Layer, Range, layer_of, surface
from resinid.melting.time_limit import short_enough
from resinid.melting.workshop import density_of, drying_of, oversize
from resinid.reference.table import ReferenceTable, reference_or_default

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.bag import Batch

__all__ = ["melt_plan"]

ALLOWANCE: Final = 0.05
"""Share of the mass added for flash and what sticks (common practice, no source)."""

ROOM: Final = 20.0
"""[degC] At which stock starts, where not given."""

NARROW: Final = 10.0
"""[K] A window narrower than this is hard to keep on a workshop plate (common practice, no source)."""

FAR: Final = 40.0
"""[K] Stock that is warmer than so far below melting has begun to melt, which the even spread of the heat of fusion
over the rise does not tell (this project's choice)."""

SOLID_PART: Final = 0.05
"""Share of a resin's goods that never melt from which the plan says so."""

CLUMPING: Final = frozenset({"PET", "PETG", "PLA"})
"""Resins met with uncrystallised, whose flakes stick above their glass transition (common practice, no source)."""

OVEN_MINUTES: Final = 20.0
"""[min] After which the middle of a layer in a hot-air oven is stated for comparison."""


def melt_plan(
    *batches: Batch,
    shares: Sequence[float] | None = None,
    volume: object = "250 cm3",
    thickness: object = "20 mm",
    plate: object | None = None,
    start: object = "20 degC",
    danger_limit: float = DANGER_LIMIT,
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    concentration: float = CONCENTRATION,
) -> MeltPlan:
    """Plan how to melt one batch, or several together, if that may be done at all.

    Parameters
    ----------
    *batches : Batch
        One or more.
    shares : sequence of float, optional
        As for :func:`resinid.melt_together`.
    volume : str or quantity, optional
        Of the cold part; 250 cm3, a small tile, where not given.
    thickness : str or quantity, optional
        Of the layer that is heated; 20 mm where not given.
    plate : str or quantity, optional
        Temperature of contact plates or oven air; where not given, as cool as the mix flows
        (:mod:`resinid.batches.melt_temperature`). It may not pass the window's top.
    start : str or quantity, optional
        Temperature of the stock; 20 degC where not given.
    danger_limit, prior, table, concentration : optional
        As for :func:`resinid.melt_together`.

    Returns
    -------
    MeltPlan
        Without steps where the verdict forbids melting or foresees delamination.

    Raises
    ------
    InputError
        No batch, or a reading that is impossible or would overheat the melt.

    Notes
    -----
    Times are those of one-dimensional conduction with constant properties, the heat of fusion
    spread over the rise (:mod:`resinid.melting.conduction`); real layers lose heat at their
    edges and loose flakes hold air, both of which take longer. A layer of flakes must be
    pressed together before these times hold.

    Examples
    --------
    >>> from resinid.batches.bag import Batch
    >>> plan = melt_plan(Batch.of("caps", marked={"PE-HD": 30}, process="injection moulding"))
    >>> round(plan.steps.shrinkage.typical), plan.steps.heating[0].minutes < 20
    (3, True)
    """
    if not batches:
        raise InputError([Fault("batches", "none given; at least one is needed")])
    faults = Faults()
    given = {
        name: _reading(value, quantity, name, faults)
        for name, value, quantity in (
            ("volume", volume, "volume"),
            ("thickness", thickness, "length"),
            ("start", start, "temperature"),
            ("plate", plate, "temperature"),
        )
        if value is not None
    }
    faults.check()
    chosen = reference_or_default(reference)
    parts = [mix_part(batch, chosen, prior, concentration) for batch in batches]
    mix = mix_of(parts, weights_of(batches, shares), chosen)
    verdict = judge(mix, danger_limit)
    if not verdict.allowed:
        # Where heating is forbidden the verdict says why; where it is not, it would be wasted work.
        problem = "" if verdict.verdict == DO_NOT_HEAT else "the parts would not hold together"
        return MeltPlan(verdict, None, problem)
    return _planned(mix, verdict, given)


def _reading(value: object, quantity: str, name: str, faults: Faults) -> float:
    try:
        found: Reading = read(value, quantity)
    except InputError as error:
        faults.extend(error.faults, under=name)
        return math.nan
    if quantity != "temperature" and not found.value > 0:
        faults.add(name, "must be above zero")
    return found.value


def _planned(mix: Mix, verdict: MeltCompatibility, given: Mapping[str, float]) -> MeltPlan:
    reference = mix.rules.model.reference
    shares = shaping(mix)
    heat = melt_heat(mix.rules, shares)
    window, melted = heat.window, heat.melted
    if window is None:
        return MeltPlan(verdict, None, "; ".join(heat.notes))
    plate = given.get("plate", window.typical)
    _check_temperatures(plate, given["start"], melted, window)
    density = measured_density(mix.parts, mix.weights, mix.rules, shares, density_of(mix.rules, shares))
    layer = layer_of(reference, shares, density)
    shrinkage = mean_ends(reference, shares, "mould_shrinkage")
    drying, mould, demould = (
        drying_of(reference, shares),
        mean_ends(reference, shares, "mould_temperature"),
        _demould(mix, shares),
    )
    oven, contact = surface(reference, "hot-air oven"), surface(reference, "contact plate")
    ways = (
        ("contact plates, both sides", 2, contact),
        ("contact plate, one side", 1, contact),
        ("hot-air oven", 2, oven),
    )
    heating, too_long = short_enough(
        [_heating(way, sides, h, layer=layer, melted=melted, plate=plate, given=given) for way, sides, h in ways],
        heat.molten,
    )
    if not heating:
        return MeltPlan(verdict, None, "no way heats it through soon enough: " + "; ".join(too_long))
    known = [ends for ends in (window, mould, demould, shrinkage, *(drying or ())) if ends is not None]
    sources = {key for ends in known for key in ends.sources}
    sources.update(density.sources, layer.sources, oven.sources, contact.sources)
    steps = Steps(
        resins=tuple(sorted(shares.items(), key=lambda item: (-item[1], item[0]))),
        window=window,
        melted=melted,
        drying=drying,
        mould=mould,
        demould=demould,
        shrinkage=shrinkage,
        oversize=shrinkage and _oversize(shrinkage),
        volume=given["volume"],
        mass=_mass(density, given["volume"]),
        thickness=given["thickness"],
        heating=heating,
        stiffness=stiffness(verdict.flow.median, verdict.flow.condition) if verdict.flow else "",
        flow=verdict.flow,
        notes=(
            *_notes(layer, window, verdict, hotter=plate > window.typical + 5.0),
            *heat.notes,
            *_stock_notes(reference, shares, drying, demould),
            *too_long,
        ),
        sources=tuple(sorted(sources)),
    )
    return MeltPlan(verdict, steps, "")


def _check_temperatures(plate: float, start: float, melted: float, window: Ends) -> None:
    faults = Faults()
    if plate > window.high:
        faults.add("plate", f"{plate:g} °C would overheat the melt; at most {window.high:.0f} °C")
    if plate <= melted:
        faults.add("plate", f"{plate:g} °C would never melt it through; at least {window.low:.0f} °C")
    if start > melted - FAR:
        what = f"{start:g} °C is nearly molten, and the plan is for stock that is not; at most {melted - FAR:.0f} °C"
        faults.add("start", what)
    faults.check()


def _oversize(shrinkage: Ends) -> Ends:
    low, typical, high = (oversize(value) for value in (shrinkage.low, shrinkage.typical, shrinkage.high))
    return Ends(low, typical, high, shrinkage.sources)


def _mass(density: Range, volume: float) -> Ends:
    low, typical, high = (volume * value / 1000.0 for value in (density.low, density.middle, density.high))
    more = 1.0 + ALLOWANCE
    return Ends(low * more, typical * more, high * more, density.sources)


def _demould(mix: Mix, shares: Mapping[str, float]) -> Ends | None:
    """Return below what the softest resin keeps its shape: its heat deflection temperature, else less than Vicat."""
    reference = mix.rules.model.reference
    found: list[Ends] = []
    for resin in shares:
        ends = printed_range(reference, resin, "heat_deflection_temperature") or printed_range(
            reference, resin, "vicat_softening_temperature"
        )
        if ends is not None:
            found.append(ends)
    return min(found, key=lambda ends: ends.typical, default=None)


def _heating(
    way: str, sides: int, h: Range, *, layer: Layer, melted: float, plate: float, given: Mapping[str, float]
) -> Heating:
    start, rise = given["start"], max(melted - given["start"], 1.0)
    thickness = given["thickness"]

    def minutes(conductivity: float, taking_up: str, coefficient: float) -> float | None:
        rho_c = layer.rho_c(rise, taking_up)
        found = time_to_reach(
            melted, start, plate, thickness=thickness, sides=sides, k=conductivity, rho_c=rho_c, h=coefficient
        )
        return found if math.isfinite(found) else None

    after = middle_temperature(
        OVEN_MINUTES,
        start,
        plate,
        thickness=thickness,
        sides=sides,
        k=layer.conductivity.middle,
        rho_c=layer.rho_c(rise, "middle"),
        h=h.middle,
    )
    return Heating(
        way=way,
        source=plate,
        minutes=minutes(layer.conductivity.middle, "middle", h.middle),
        shortest=minutes(layer.conductivity.high, "low", h.high),
        longest=minutes(layer.conductivity.low, "high", h.low),
        after=after,
    )


def _stock_notes(
    reference: ReferenceTable, shares: Mapping[str, float], drying: tuple[Ends, Ends] | None, demould: Ends | None
) -> tuple[str, ...]:
    """Say what of the stock never melts, and where drying may already make it clump."""
    notes = []
    for resin in sorted(shares):
        variants = [variant for variant in reference.variants if variant.resin == resin]
        solid = [variant for variant in variants if variant.softens == "never"]
        part = math.fsum(v.weight for v in solid) / math.fsum(v.weight for v in variants)
        if part > SOLID_PART:
            names = ", ".join(variant.name for variant in solid)
            notes.append(f"about {100 * part:.0f} % of {resin} goods never melt ({names}): sort them out first")
    if CLUMPING & set(shares) and drying is not None and demould is not None and drying[0].high > demould.typical:
        notes.append(
            f"above about {demould.typical:.0f} °C clear flakes that have not crystallised soften and clump while "
            "they dry: stay below it, or stir"
        )
    return tuple(notes)


def _notes(layer: Layer, window: Ends, verdict: MeltCompatibility, *, hotter: bool) -> tuple[str, ...]:
    notes = [
        "melt a few grams first; stop at the first sharp smell",
        "the times hold for a solid or well pressed layer; loose flakes hold air and take longer",
        *(["hotter than it needs to begin with: fume and harm to the melt grow with every degree"] if hotter else []),
        f"the mass to weigh has {100 * ALLOWANCE:.0f} % added for flash and what sticks",
        *verdict.limits,
    ]
    if layer.assumed:
        notes.append(f"not in the table, taken from the range of all resins: {', '.join(layer.assumed)}")
    if window.high - window.low < NARROW:
        notes.append(f"the window is only {window.high - window.low:.0f} K wide: leave it unless the plate holds that")
    if verdict.flow is not None and not verdict.flow.valid:
        notes.append("the flow of the mix is only an indication: its parts differ more than the log rule bears")
    return tuple(notes)
