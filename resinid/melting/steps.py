"""A melt plan as a frozen value: the verdict, and the steps where it allows any."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from resinid.errors import Fault, InputError
from resinid.heating.verdict import LOCAL
from resinid.notebook import Answer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.batches.compatibility import MeltCompatibility
    from resinid.batches.mix_flow import MeltFlow
    from resinid.batches.ranges import Ends
    from resinid.melting.charge import Charge
    from resinid.melting.given import Given
    from resinid.melting.slab import Case

__all__ = ["Cooling", "Heating", "MeltPlan", "Stage", "Steps"]


@dataclass(frozen=True, slots=True)
class Heating:
    """Time in which the coldest place of a charge flows, and how far it is after twenty minutes.

    Parameters
    ----------
    way : str
        ``"contact plates, both sides"``, ``"contact plate, one side"`` or ``"hot-air oven"``.
    source : float
        Temperature of plate or air [degC].
    minutes, shortest, longest : float or None
        Of a solid charge, with middle values, and with those that heat fastest and slowest; None
        where the temperature is never reached.
    after : float
        Temperature [degC] of the coldest place of a solid charge after 20 min, with middle values.
    loose : float or None
        [min] Of the charge as it is filled in, with middle values.
    used, loose_used : float
        Share of what the resin bears that is used up by then at the face; more than 1 is too much.
    thickest : float
        Slab [mm] that the resin just bears to have heated through as it is filled in; at most 150.
    power : float
        Mean power [kW] into a solid charge and its mould; losses come on top.
    """

    way: str
    source: float
    minutes: float | None
    shortest: float | None
    longest: float | None
    after: float
    loose: float | None = None
    used: float = 0.0
    loose_used: float = 0.0
    thickest: float = 0.0
    power: float = 0.0


@dataclass(frozen=True, slots=True)
class Cooling:
    """Time until a charge may be opened, all of it hot at first; under load all the while.

    Parameters
    ----------
    way : str
        What it is cooled by.
    minutes : float or None
    used : float
        Share of what the resin bears that is used up meanwhile.
    """

    way: str
    minutes: float | None
    used: float


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the work: what to do and what to beware of, in order."""

    name: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Steps:
    """What to do with an accepted mix.

    Parameters
    ----------
    resins : tuple of (str, float)
        Resins that shape the plan with their expected shares.
    window : Ends
        Melt temperature [degC]; ``typical`` is a good start, ``high`` must not be passed.
    melted : float
        Temperature [degC] at which a layer counts as heated through: it flows under a press.
    drying : tuple of Ends or None
        Temperature [degC] and time [h].
    mould, demould : Ends or None
        Mould temperature of injection moulding [degC], and below what the part keeps its shape [degC].
    opened : float
        Temperature [degC] of the middle at which the mould is opened.
    shrinkage, oversize : Ends or None
        Linear [%], and how many times the part's length the mould must have.
    volume : float
        Of the cold part [cm3].
    mass : Ends
        To weigh for it [g], allowance included.
    thickness : float
        Of the cold part [mm].
    heating : tuple of Heating
    cooling : tuple of Cooling
    charge : Charge
    given : Given
        Mould, heater and form of the charge.
    bears : tuple of (float, str)
        How long [min] the mix bears the temperature it is set to, and the resin that bears least.
    pressure, force : float
        Under which it is pressed [MPa], and with how much [kN].
    stiffness : str
        What the melt is like under the press; empty where its flow is unknown.
    flow : MeltFlow or None
    order : tuple of Stage
        The work from sorting to trial tile, with cautions.
    bounds : tuple of str
        Ways that take too long, as a whole or with loose stock; a window that is hard to keep.
    notes : tuple of str
    sources : tuple of str
    solved : mapping of str to Case
        What was solved for each way of heating and cooling, for pictures; left out of the JSON.
    """

    resins: tuple[tuple[str, float], ...]
    window: Ends
    melted: float
    drying: tuple[Ends, Ends] | None
    mould: Ends | None
    demould: Ends | None
    opened: float
    shrinkage: Ends | None
    oversize: Ends | None
    volume: float
    mass: Ends
    thickness: float
    heating: tuple[Heating, ...]
    cooling: tuple[Cooling, ...]
    charge: Charge
    given: Given
    bears: tuple[float, str]
    pressure: float
    force: float
    stiffness: str
    flow: MeltFlow | None
    order: tuple[Stage, ...]
    bounds: tuple[str, ...]
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    solved: Mapping[str, Case]


@dataclass(frozen=True, slots=True)
class MeltPlan(Answer):
    """A verdict, and steps where it allows melting.

    ``problem`` says why there are no steps although melting is not ruled out.
    """

    verdict: MeltCompatibility
    steps: Steps | None
    problem: str

    def __post_init__(self) -> None:
        """Refuse to hold steps for a mix that must not be melted."""
        if self.steps is not None and not self.verdict.allowed:
            raise InputError([Fault("steps", f"are given, but the verdict is {self.verdict.verdict!r}")])

    def __repr__(self) -> str:
        how = self.problem or "no steps"
        if self.steps is not None:
            how = f"from {self.steps.window.low:.0f} to {self.steps.window.high:.0f} °C"
        return f"<MeltPlan for {' and '.join(self.verdict.batches)}: {self.verdict.verdict}; {how}>"

    def to_dict(self) -> dict[str, Any]:
        """Return the plan as JSON types."""
        steps = None if self.steps is None else asdict(replace(self.steps, solved={}))
        if steps is not None:
            del steps["solved"]
        return {"verdict": self.verdict.to_dict(), "steps": steps, "problem": self.problem, "local": LOCAL}
