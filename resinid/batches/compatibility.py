"""May these be melted together? The verdict, its reason, and what would change it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.batches.bag import as_batches
from resinid.batches.bag_posterior import CONCENTRATION
from resinid.batches.changes import Change, Gain, changes, gains
from resinid.batches.enough import Enough, enough_for
from resinid.batches.hazards import (
    HazardNote,
    cautions,
    dangers,
    forbidding_reasons,
    found_items,
    provisos,
    refusals,
    too_few,
    total_danger,
)
from resinid.batches.melt_temperature import melt_heat, shaping
from resinid.batches.mix import Mix, mix_of, weights_of
from resinid.batches.mix_flow import mix_melt_flow
from resinid.batches.mix_part import MixPart, danger_of, mix_part
from resinid.batches.outcome import (
    DELAMINATES,
    HEATS_APART,
    LIMITS,
    ONE_MELT,
    OUTCOMES,
    Reason,
    heats_apart,
    judged,
    reasons,
)
from resinid.batches.pair_conditions import parse_compatibiliser
from resinid.batches.remedies import remedies_of
from resinid.errors import Fault, InputError
from resinid.heating.rule import SHOWN as DANGEROUS
from resinid.heating.verdict import DANGER_LIMIT, DO_NOT_HEAT, LOCAL, NOT_YET, danger_limit_of
from resinid.notebook import Answer
from resinid.reference.table import ReferenceTable, reference_or_default

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.bag import Batch
    from resinid.batches.mix_flow import MeltFlow
    from resinid.batches.mixing_rules import Rules

__all__ = ["MeltCompatibility", "deciding_of", "judge", "melt_together", "verdict_of"]

CHARGE: Final = 100
"""Pieces in a charge for which the chance of one that must not be heated is told, where a bag does not say what it
holds."""

LEAST: Final = 1e-9
"""Chance that is kept for a mix that is certainly dangerous, so that what would become of it otherwise can be told."""

SHOWN: Final = 12
"""Hazards and reasons that are kept, most weighty first."""


@dataclass(frozen=True, slots=True)
class MeltCompatibility(Answer):
    """Whether batches may be melted together.

    Parameters
    ----------
    batches : tuple of str
    shares : tuple of float
        Their mass shares of the mix.
    chances : tuple of float
        Of one melt, usable with limits, will delaminate, dangerous; they add up to one.
    danger : float
        Chance that the next piece taken from the worst of the batches is dangerous, by itself or
        with another. Thinning does not lower it.
    danger_limit : float
        Above it nothing is heated.
    refusals : tuple of str
        Why stock is not known well enough to be melted, what was found in it first.
    found : tuple of str
        Those of them that name an item found to be dangerous by what it alone shows.
    hazards : tuple of HazardNote
        What makes up the danger, most probable first.
    cautions : tuple of HazardNote
        What to beware of all the same.
    reasons : tuple of Reason
        What stands against one melt, weightiest first.
    limits : tuple of str
        What a mix may not be used for, and on what condition alone it may be heated.
    remedies : tuple of str
        What a workshop may do about flow or layers that differ.
    heats_apart : bool
        Whether the parts would hold together if they had a melt temperature in common.
    flow : MeltFlow or None
        Of the mix, where the batches' rates can be compared.
    changes : tuple of Change
        For each batch, the nearest share of it at which the verdict would change.
    tests : tuple of Gain
        Tests that would be expected to move the chances most, best first.
    further : tuple of (str, int)
        For each batch, how many further pieces, all clean, would bring its own danger to the limit; it is
        left out where none would.
    enough : tuple of Enough
        The same with how each of them is to be tested; empty where nothing is missing.
    charge : tuple of (str, int, float)
        For each batch, the chance that of so many further pieces, or of all that it holds, at least one must
        not be heated.
    estimate : bool
        Whether the weightiest reason rests on a pair that nobody published.
    sources : tuple of str
        Keys of the sources behind reasons and hazards.
    """

    batches: tuple[str, ...]
    shares: tuple[float, ...]
    chances: tuple[float, float, float, float]
    danger: float
    danger_limit: float
    refusals: tuple[str, ...]
    found: tuple[str, ...]
    hazards: tuple[HazardNote, ...]
    cautions: tuple[HazardNote, ...]
    reasons: tuple[Reason, ...]
    limits: tuple[str, ...]
    remedies: tuple[str, ...]
    heats_apart: bool
    flow: MeltFlow | None
    changes: tuple[Change, ...]
    tests: tuple[Gain, ...]
    further: tuple[tuple[str, int], ...]
    enough: tuple[Enough, ...]
    charge: tuple[tuple[str, int, float], ...]
    estimate: bool
    sources: tuple[str, ...]

    def __repr__(self) -> str:
        return f"<MeltCompatibility of {' and '.join(self.batches)}: {self.verdict}; {self.deciding}>"

    @property
    def verdict(self) -> str:
        """The answer in words. It is worked out here, so none can be held that the danger forbids."""
        return verdict_of(self.found, self.refusals, self.danger, self.danger_limit, self.outcome)

    @property
    def outcome(self) -> str:
        """What would become of the melt if nothing in it were dangerous, whether or not it may be melted."""
        return HEATS_APART if self.heats_apart else judged(self.chances)

    @property
    def allowed(self) -> bool:
        """Whether melting the mix is not ruled out; its limits and cautions still hold."""
        return self.verdict in {ONE_MELT, LIMITS}

    @property
    def deciding(self) -> str:
        """The weightiest reason for the verdict, in words."""
        return deciding_of(self.found, self.refusals, self.danger, self.danger_limit, self.hazards, self.reasons)

    def to_dict(self) -> dict[str, Any]:
        """Return the verdict as JSON types."""
        data = asdict(self)
        data["chances"] = dict(zip(OUTCOMES, self.chances, strict=True))
        data["further"] = [{"batch": batch, "pieces": pieces} for batch, pieces in self.further]
        data["shares"] = [{"batch": b, "share": s} for b, s in zip(self.batches, self.shares, strict=True)]
        del data["batches"]
        data["charge"] = [{"batch": batch, "pieces": pieces, "chance": chance} for batch, pieces, chance in self.charge]
        return {"verdict": self.verdict, "outcome": self.outcome, "deciding": self.deciding, **data, "local": LOCAL}


def verdict_of(found: Sequence[str], refused: Sequence[str], danger: float, limit: float, outcome: str) -> str:
    """Return the answer in words: what was found, and danger, come before what becomes of the melt."""
    if found or not danger < DANGEROUS:
        return DO_NOT_HEAT
    return NOT_YET if refused or not danger <= limit else outcome


def deciding_of(  # noqa: PLR0917 - all that may decide, in its order
    found: Sequence[str],
    refused: Sequence[str],
    danger: float,
    limit: float,
    hazards: Sequence[HazardNote],
    against: Sequence[Reason],
) -> str:
    """Return the weightiest reason for the verdict, in words; of hazards and reasons the first are told."""
    if found:
        return found[0]
    if danger > limit and hazards:
        worst = hazards[0]
        onset = f", from about {worst.onset:g} °C" if worst.onset is not None else ""
        seen = f" {worst.seen}" if worst.seen else ""
        return f"{' with '.join(worst.resins)} ({worst.probability:.1%}{seen}): {worst.hazard}{onset}"
    if refused:
        return refused[0]
    return against[0].text if against else "nothing found stands against it"


def melt_together(
    *batches: Batch,
    shares: Sequence[object] | None = None,
    compatibiliser: str | None = None,
    danger_limit: float = DANGER_LIMIT,
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    concentration: float = CONCENTRATION,
) -> MeltCompatibility:
    """Say what becomes of two or more batches that are melted together.

    Parameters
    ----------
    *batches : Batch
        Two or more, of different names unless one and the same.
    shares : sequence of float, or of str or quantity, optional
        Mass shares as numbers, or masses with their units, one a batch; the batches' own
        masses where all have one, else equal shares.
    compatibiliser : str, optional
        What is kneaded in to join them, such as ``"5 % SEBS"``, where its effect on the pair is published
        (``pair_conditions.csv`` beside this module).
    danger_limit : float, optional
        Chance that a piece is dangerous above which nothing is heated; 0.01 where not
        given, a cautious choice of this project.
    prior : str or mapping, optional
        As :func:`resinid.identify` takes it.
    reference : ReferenceTable, optional
    concentration : float, optional
        As for :func:`resinid.batch_composition`.

    Returns
    -------
    MeltCompatibility

    Raises
    ------
    InputError
        Fewer than two batches, or what is none; shares that are not positive numbers; an unknown compatibiliser;
        what is no prior or table; a piece that is marked with an unknown resin.
    UnknownNameError
        No prior is called that.
    RangeError
        A danger limit outside 0 to 0.05, or a concentration outside 0.001 to 1000.

    Notes
    -----
    Chances are averages over draws of every batch's composition and melt flow, each batch's
    draws depending on its own content only, so the order of the batches does not matter and a
    batch beside itself is one and the same bag.

    Examples
    --------
    >>> from resinid.batches.bag import Batch
    >>> caps = Batch.of("caps", marked={"PE-HD": 30}, process="injection moulding")
    >>> pots = Batch.of("pots", marked={"PS": 30})
    >>> found = melt_together(caps, pots)
    >>> found.verdict, found.outcome  # nothing was measured yet
    ('NOT YET', 'will delaminate')
    """
    as_batches(batches)
    if len(batches) < 2:
        raise InputError([Fault("batches", f"{len(batches)} given; at least two are needed")])
    streams = [batch.stream for batch in batches]
    if len({batch.name for batch in batches}) < len(set(streams)):
        raise InputError([Fault("batches", "two different batches have one name; names must differ")])
    chosen = reference_or_default(reference)
    weights, agent = weights_of(batches, shares), parse_compatibiliser(compatibiliser)
    # A batch given twice is one batch.
    once = dict(zip(streams, batches, strict=True))
    made = {stream: mix_part(batch, chosen, prior, concentration) for stream, batch in once.items()}
    parts = [made[stream] for stream in streams]
    return judge(mix_of(parts, weights, chosen, agent), danger_limit)


def _unplanned(mix: Mix) -> tuple[str, ...]:
    """Say why a mix cannot be melted in a workshop though its parts would hold together."""
    heat = melt_heat(mix.rules, shaping(mix))
    return () if heat.window is not None else tuple(f"it cannot be planned: {why}" for why in heat.notes)


def _missing(part: MixPart, rules: Rules, limit: float) -> bool:
    return too_few(part) or danger_of(part.worst_view, rules, part.batch.holds) > limit


def _enough(mix: Mix, limit: float) -> dict[str, Enough | None]:
    """Return for each batch that lacks something how many pieces are enough; one that must not be heated lacks none."""
    lacking = {
        part.batch.name: part for part in mix.parts if _missing(part, mix.rules, limit) and not forbidding_reasons(part)
    }
    return {name: enough_for(part, mix.rules, limit) for name, part in lacking.items()}


def _further(mix: Mix, enough: Mapping[str, Enough | None], limit: float) -> tuple[tuple[str, int], ...]:
    out = []
    for part in mix.parts:
        found = enough.get(part.batch.name)
        if not _missing(part, mix.rules, limit):
            out.append((part.batch.name, 0))
        elif found is not None:
            out.append((part.batch.name, found.pieces))
    return tuple(out)


def _charge(part: MixPart) -> tuple[int, float]:
    """Return a number of pieces and the chance that one of them must not be heated."""
    looked_at = part.batch.items
    if part.batch.holds is None:
        return CHARGE, part.worst_view.danger_of_any(CHARGE)
    view = part.worst_view
    clean = np.array([1.0 - float(item @ view.barred) for item in view.items])
    known = float(np.prod(clean ** np.array([group.count for group in view.groups]))) if view.groups else 1.0
    rest = part.batch.holds - looked_at
    return part.batch.holds, 1.0 - known * (1.0 - (view.danger_of_any(rest) if rest else 0.0))


def judge(mix: Mix, danger_limit: float = DANGER_LIMIT, *, explain: bool = True) -> MeltCompatibility:
    """Return the verdict on a mix of one or more batches.

    Parameters
    ----------
    mix : Mix
    danger_limit : float, optional
    explain : bool, optional
        Whether to look for what would change the verdict as well.
    """
    danger_limit = danger_limit_of(danger_limit)
    shares = mix.shares()
    hazards = dangers(mix)
    danger = total_danger(mix)
    against, chances, limits = reasons(mix, shares)
    left = max(1.0 - danger, LEAST)
    chances_all = (*(float(chance) * left for chance in chances), danger)
    flow = mix_melt_flow(mix)
    refused = refusals(mix, danger_limit)
    allowed = not refused and danger <= danger_limit
    warned = cautions(mix.rules, shares)
    enough = _enough(mix, danger_limit) if explain and not allowed and not found_items(mix, danger_limit) else {}
    sources = {key for note in (*hazards[:SHOWN], *warned) for key in note.source.split()}
    sources.update(key for reason in against for key in reason.source.split())
    return MeltCompatibility(
        batches=tuple(part.batch.name for part in mix.parts),
        shares=mix.weights,
        chances=(chances_all[0], chances_all[1], chances_all[2], chances_all[3]),
        danger=danger,
        danger_limit=danger_limit,
        refusals=refused,
        found=found_items(mix, danger_limit),
        hazards=hazards[:SHOWN],
        cautions=warned,
        reasons=against[:SHOWN],
        limits=(*limits, *(_unplanned(mix) if explain and allowed else ()), *provisos(mix, warned)),
        remedies=remedies_of(mix, flow, judged(chances_all)) if explain and allowed else (),
        heats_apart=judged(chances_all) == DELAMINATES and heats_apart(mix, shares),
        flow=flow,
        changes=changes(mix) if explain and allowed and len({part.stream for part in mix.parts}) > 1 else (),
        tests=gains(mix) if explain else (),
        further=_further(mix, enough, danger_limit),
        enough=tuple(each for each in enough.values() if each is not None),
        charge=tuple((part.batch.name, *_charge(part)) for part in mix.parts),
        estimate=bool(against) and against[0].estimate,
        sources=tuple(sorted(sources)),
    )
