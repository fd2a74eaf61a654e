"""A melt plan as a frozen value: the verdict, and the steps where it allows any."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from resinid.errors import Fault, InputError
from resinid.heating.verdict import LOCAL
from resinid.notebook import ShowsItself
from resinid.version import JSON_FORMAT

if TYPE_CHECKING:
    from resinid.batches.compatibility import MeltCompatibility
    from resinid.batches.mix_flow import MeltFlow
    from resinid.batches.ranges import Ends

__all__ = ["Heating", "MeltPlan", "Steps"]


@dataclass(frozen=True, slots=True)
class Heating:
    """Time in which the coldest place of a layer melts, and how far it is after twenty minutes.

    Parameters
    ----------
    way : str
        ``"contact plates, both sides"``, ``"contact plate, one side"`` or ``"hot-air oven"``.
    source : float
        Temperature of plate or air [degC].
    minutes, shortest, longest : float or None
        With middle values, and with those that heat fastest and slowest; None where the
        temperature is never reached.
    after : float
        Temperature [degC] of the coldest place after 20 min, with middle values.
    """

    way: str
    source: float
    minutes: float | None
    shortest: float | None
    longest: float | None
    after: float


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
        Temperature [degC] at which a layer counts as melted through.
    drying : tuple of Ends or None
        Temperature [degC] and time [h].
    mould, demould : Ends or None
        Mould temperature [degC], and below what the part keeps its shape [degC].
    shrinkage, oversize : Ends or None
        Linear [%], and how many times the part's length the mould must have.
    volume : float
        Of the cold part [cm3].
    mass : Ends
        To weigh for it [g], allowance included.
    thickness : float
        Of the layer that is heated [mm].
    heating : tuple of Heating
    stiffness : str
        What the melt is like under the press; empty where its flow is unknown.
    flow : MeltFlow or None
    notes : tuple of str
    sources : tuple of str
    """

    resins: tuple[tuple[str, float], ...]
    window: Ends
    melted: float
    drying: tuple[Ends, Ends] | None
    mould: Ends | None
    demould: Ends | None
    shrinkage: Ends | None
    oversize: Ends | None
    volume: float
    mass: Ends
    thickness: float
    heating: tuple[Heating, ...]
    stiffness: str
    flow: MeltFlow | None
    notes: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeltPlan(ShowsItself):
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

    def to_dict(self) -> dict[str, Any]:
        """Return the plan as JSON types."""
        steps = None if self.steps is None else asdict(self.steps)
        return {"verdict": self.verdict.to_dict(), "steps": steps, "problem": self.problem, "local": LOCAL}

    def to_json(self) -> str:
        """Return the plan as JSON text."""
        return json.dumps({"format": JSON_FORMAT, **self.to_dict()}, ensure_ascii=False, allow_nan=False)
