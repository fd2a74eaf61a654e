"""The melt plan of an accepted mix: how much, how hot, how long, how hard to press, when to open."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from resinid.batches.bag_posterior import CONCENTRATION
from resinid.batches.compatibility import MeltCompatibility, judge
from resinid.batches.melt_flow import stiffness
from resinid.batches.melt_temperature import LESSER, melt_heat, shaping
from resinid.batches.mix import Mix, mix_of, weights_of
from resinid.batches.mix_part import mix_part
from resinid.batches.pair_conditions import parse_compatibiliser
from resinid.batches.ranges import mean_ends
from resinid.errors import Fault, InputError
from resinid.heating.verdict import DANGER_LIMIT, DO_NOT_HEAT, NOT_YET
from resinid.melting.advice import order_of, pressure_of
from resinid.melting.charge import charge_of, melt_share
from resinid.melting.flow import melting_range, transition
from resinid.melting.given import Given, given_of
from resinid.melting.measured_density import measured_density
from resinid.melting.own_tables import walls
from resinid.melting.plan_notes import glass_notes, in_time, narrow, own_sources, plan_notes, stock_notes
from resinid.melting.set_heat import check_temperatures, set_heat
from resinid.melting.steps import MeltPlan, Steps
from resinid.melting.thermal_properties import layer_of, surface
from resinid.melting.timing import Setting, timings
from resinid.melting.workshop import KEEPS_SHAPE, demould_of, density_of, drying_of, mass_of, oversize_of
from resinid.reference.table import ReferenceTable, reference_or_default

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.bag import Batch
    from resinid.batches.ranges import Ends

__all__ = ["melt_plan"]


def melt_plan(
    *batches: Batch,
    shares: Sequence[float] | None = None,
    compatibiliser: str | None = None,
    mould: object | None = None,
    volume: object | None = None,
    thickness: object | None = None,
    material: str | None = None,
    wall: object | None = None,
    depth: object | None = None,
    heater: str | None = None,
    plate: object | None = None,
    charge: str | None = None,
    start: object | None = None,
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
    compatibiliser : str, optional
        As for :func:`resinid.melt_together`.
    mould : str or sequence of three quantities, optional
        Length x width x thickness of the slab in the mould, such as ``"600x400x10 mm"``.
    volume : str or quantity, optional
        Of the cold part, instead of a mould; 250 cm3, a small tile, where neither is given.
    thickness : str or quantity, optional
        Of the cold part, with ``volume``; 20 mm where not given.
    material : str, optional
        What lies between charge and heater: ``"aluminium"``, ``"steel"``, ``"plywood"`` or ``"wood"``;
        nothing where not given.
    wall : str or quantity, optional
        Thickness of that; the usual one of ``walls.csv`` where not given.
    depth : str or quantity, optional
        How deep the mould is, for the number of fillings.
    heater : str, optional
        ``"two plates"``, ``"one plate"`` or ``"oven"``; all three where not given.
    plate : str or quantity, optional
        Temperature of plates or oven air; where not given, as cool as the mix flows
        (:mod:`resinid.melting.flow`). It may not pass the window's top.
    charge : str, optional
        Form of the stock: ``"shred"`` (where not given), ``"pellets"``, ``"film"`` or ``"solid"``.
    start : str or quantity, optional
        Temperature of the stock; 20 degC where not given.
    danger_limit, prior, reference, concentration : optional
        As for :func:`resinid.melt_together`.

    Returns
    -------
    MeltPlan
        Without steps where the verdict forbids melting or foresees delamination, or where no way heats
        the slab through in the time that a resin bears.

    Raises
    ------
    InputError
        No batch, or a reading that is impossible or would overheat melt or mould.

    Notes
    -----
    Times are those of a flat slab by the enthalpy method (:mod:`resinid.melting.slab`); edges lose
    heat, so real ones are longer. Loose times hold for a bed that sinks by itself: pressing it
    together as it softens shortens them towards those of a solid charge.

    Examples
    --------
    >>> from resinid.batches.bag import Batch
    >>> cap = [{"test": "softening", "temperature": "131 ± 2 degC"}]
    >>> caps = Batch.of("caps", marked={"PE-HD": 30}, pieces=[cap] * 3, process="injection moulding")
    >>> steps = melt_plan(caps, mould="600x400x10 mm", material="aluminium", heater="two plates").steps
    >>> round(steps.shrinkage.typical), steps.heating[0].minutes < 15, round(steps.force)
    (3, True, 48)
    """
    if not batches:
        raise InputError([Fault("batches", "none given; at least one is needed")])
    given = given_of(
        {
            "mould": mould,
            "volume": volume,
            "thickness": thickness,
            "material": material,
            "wall": wall,
            "depth": depth,
            "heater": heater,
            "plate": plate,
            "charge": charge,
            "start": start,
        }
    )
    chosen = reference_or_default(reference)
    parts = [mix_part(batch, chosen, prior, concentration) for batch in batches]
    mix = mix_of(parts, weights_of(batches, shares), chosen, parse_compatibiliser(compatibiliser))
    verdict = judge(mix, danger_limit)
    if not verdict.allowed:
        # Where heating is forbidden the verdict says why; where it is not, it would be wasted work.
        problem = "" if verdict.verdict in {DO_NOT_HEAT, NOT_YET} else "the parts would not hold together"
        return MeltPlan(verdict, None, problem)
    return _planned(mix, verdict, given)


def _hottest(window: Ends, given: Given) -> float:
    """Return the hottest [degC] that both melt and mould bear."""
    return min(window.high, walls()[given.material].hottest) if given.material else window.high


def _planned(mix: Mix, verdict: MeltCompatibility, given: Given) -> MeltPlan:
    reference = mix.rules.model.reference
    shares = shaping(mix)
    heat = melt_heat(mix.rules, shares)
    if heat.window is None:
        return MeltPlan(verdict, None, "; ".join(heat.notes))
    found = set_heat(mix, shares, heat, heat.window)
    if isinstance(found, str):
        return MeltPlan(verdict, None, found)
    window, through, bearing = found.window, found.through, found.bearing
    plate = window.typical if given.plate is None else given.plate
    if given.plate is None and given.material and plate > walls()[given.material].hottest:
        why = f"it must be set to {plate:.0f} °C, and a mould of {given.material} bears"
        return MeltPlan(verdict, None, f"{why} {walls()[given.material].hottest:.0f} °C at most")
    check_temperatures(plate, given, through, window, bearing)
    density = measured_density(mix.parts, mix.weights, mix.rules, shares, density_of(mix.rules, shares))
    layer = layer_of(reference, shares, density)
    oven, contact = surface(reference, "hot-air oven"), surface(reference, "contact plate")
    demould = demould_of(reference, shares)
    opened = KEEPS_SHAPE if demould is None else min(max(demould.typical, given.start + 10.0), through - 10.0)
    melting = melting_range(reference, {r: s for r, s in shares.items() if s >= min(LESSER, max(shares.values()))})
    setting = Setting(
        plate=plate,
        through=through,
        opened=opened,
        melting=melting and (min(melting[0], through - 2.0), min(melting[1], through - 1.0)),
        softens=melting[0] if melting else min(transition(shares), through - 20.0),
        resin=max(shares, key=lambda resin: (shares[resin], resin)),
    )
    heating, cooling, solved = timings(given, layer, setting, bearing, contact=contact, oven=oven)
    bears = bearing.minutes(plate)
    kept, too_long = in_time(heating, bears, _hottest(window, given))
    if not kept:
        return MeltPlan(verdict, None, "no way heats it through soon enough: " + "; ".join(too_long))
    shrinkage = mean_ends(reference, shares, "mould_shrinkage")
    drying, mould = drying_of(reference, shares), mean_ends(reference, shares, "mould_temperature")
    molten, melt_sources = melt_share(reference, shares)
    mass = mass_of(density, given.volume)
    words = stiffness(verdict.flow.median, verdict.flow.condition) if verdict.flow else ""
    pressure = pressure_of(words)
    filled = charge_of(
        verdict.batches,
        verdict.shares,
        mass=mass.typical,
        area=given.area,
        cold=density.middle,
        molten=density.middle * molten,
        form=given.form,
        depth=given.depth,
    )
    stock = stock_notes(reference, shares, drying, demould)
    known = [ends for ends in (window, mould, demould, shrinkage, *(drying or ())) if ends is not None]
    sources = {key for ends in known for key in ends.sources}
    sources.update(density.sources, layer.sources, oven.sources, contact.sources, melt_sources)
    steps = Steps(
        resins=tuple(sorted(shares.items(), key=lambda item: (-item[1], item[0]))),
        window=window,
        melted=through,
        drying=drying,
        mould=mould,
        demould=demould,
        opened=opened,
        shrinkage=shrinkage,
        oversize=shrinkage and oversize_of(shrinkage),
        volume=given.volume,
        mass=mass,
        thickness=given.thickness,
        heating=kept,
        cooling=cooling,
        charge=filled,
        given=given,
        bears=bears,
        pressure=pressure,
        force=pressure * given.area / 10.0,
        stiffness=words,
        flow=verdict.flow,
        order=order_of(
            shares,
            given=given,
            heating=kept,
            cooling=cooling,
            window=window,
            through=through,
            opened=opened,
            bears=bears,
            drying=drying,
            density=density.middle,
            stock=stock,
        ),
        bounds=(*too_long, *narrow(window)),
        notes=(
            *plan_notes(layer, verdict, hotter=plate > window.typical + 5.0),
            *glass_notes(shares, through, plate),
            *heat.notes,
            *stock,
            *own_sources(shares, bears, given.material),
        ),
        sources=tuple(sorted(sources)),
        solved=MappingProxyType(solved),
    )
    return MeltPlan(verdict, steps, "")
