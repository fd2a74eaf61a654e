"""Why a mix must not be heated at all: danger comes before everything else."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.mix_outcome import danger, total
from resinid.batches.mix_part import danger_by_resin
from resinid.batches.stops import FOUND, TAKE_OUT, by_itself
from resinid.heating.evidence import forbidding
from resinid.heating.rule import MELTED
from resinid.heating.verdict import DANGER_LIMIT, DO_NOT_HEAT, UNLISTED_LIMIT
from resinid.identification.score import Setting, heat_of, heat_rule_of
from resinid.methods.registry import is_built_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.batches.bag_shares import BagPosterior
    from resinid.batches.minority_share import Expected
    from resinid.batches.mix import Mix
    from resinid.batches.mix_part import MixPart
    from resinid.batches.mixing_rules import Rules
    from resinid.heating.verdict import Heat
    from resinid.methods.contract import Observation
    from resinid.reference.entries import Hazard


__all__ = [
    "CERTAIN",
    "FEWEST",
    "HazardNote",
    "cautions",
    "dangers",
    "flowing",
    "forbidding_reasons",
    "found_items",
    "found_resins",
    "provisos",
    "refusals",
    "too_few",
    "total_danger",
]

CERTAIN: Final = frozenset({"flame retarded", "halogen found"})
"""Remarks that forbid heating outright."""

SUSPECT: Final = frozenset({"electrical housing", "building board"})
"""Remarks that forbid heating unless a copper-wire test found no halogen."""

SUSPECT_ARTICLES: Final = frozenset({"housing", "connector or switch"})
"""Kinds of articles that are often flame retarded: a piece of one is as good as the remark."""

PAIRS: Final = 12
"""Pairs that are dangerous together of which most is said, most probable first."""

OFTEN: Final = 3
"""Times melted before from which on a caution is told (common practice, no source)."""

PRECAUTIONS: Final = "only with every precaution named below"

FEWEST: Final = 3
"""Items that must be measured, or all that a bag holds, before marks can help to clear it (this project's choice)."""

UNMEASURED: Final = "nothing of it was measured; marks or known origin alone may be wrong and never clear a bag"

SLEEVE: Final = "shrink sleeve"
SLEEVES: Final = "take the shrink sleeves off first and look at what is left again: many are of PVC"

HOT_PLATE: Final = "hot plate"
"""Name in hazards.csv of what goes for any heating."""

BROMINATED: Final = "brominated"


@dataclass(frozen=True, slots=True)
class HazardNote:
    """What can hurt if the mix is heated.

    Parameters
    ----------
    resins : tuple of str
        The resin, or the two that are dangerous together, or what is remarked.
    probability : float
        Chance that the next piece taken from the worst batch is it; of two, the expected share of the lesser.
    hazard, caution : str
    onset : float or None
        Temperature [degC] from which, where published or recalled.
    source : str
        Keys of the sources; empty where recalled.
    seen : str
        In which view of the worst batch that is its probability, where not by all that was seen:
        marks and kinds of articles lift no danger that measuring leaves open.
    """

    resins: tuple[str, ...]
    probability: float
    hazard: str
    onset: float | None
    caution: str
    source: str
    seen: str = ""


def dangers(mix: Mix) -> tuple[HazardNote, ...]:
    """Return what is dangerous in a mix, most probable first.

    A clash of two of which one must not be heated by itself is told, and counted once.
    """
    alone, clashing = danger(_stocks(mix), mix.rules, _alone(mix))
    return hazard_notes(mix, alone, clashing)


def hazard_notes(mix: Mix, alone: Array, clashing: Array) -> tuple[HazardNote, ...]:
    """Return what is dangerous in a mix, most probable first, by how much of it is."""
    rules = mix.rules
    notes = [_alone_note(mix, k, float(alone[k])) for k in np.flatnonzero(alone).tolist()]
    # There are hundreds of pairs; no more than these are ever told.
    first, second = rules.clashing
    likely = np.lexsort((second, first, -clashing))[:PAIRS]
    notes += [_clash(rules, int(first[k]), int(second[k]), float(clashing[k])) for k in likely if clashing[k]]
    for part in mix.parts:
        forbidding = forbidding_reasons(part)
        notes += [_note(rules, (f"{part.batch.name}: {word}",), 1.0, BROMINATED) for word in sorted(forbidding)]
    return tuple(sorted((n for n in notes if n.probability > 0), key=lambda note: (-note.probability, note.resins)))


def _seen(mix: Mix, resin: int) -> str:
    """Return in which view most of a batch is a dangerous resin, where that is not all that was seen of it."""
    return max(mix.parts, key=lambda part: float(part.worst.mean[resin])).seen


def _alone_note(mix: Mix, resin: int, chance: float) -> HazardNote:
    rules = mix.rules
    name = rules.model.candidates[resin]
    if rules.barred[resin]:
        return replace(_note(rules, (name,), chance), seen=_seen(mix, resin))
    # Only its flame-retarded kind must not be heated.
    return replace(_note(rules, (f"flame-retarded {name}",), chance, BROMINATED), seen=_seen(mix, resin))


def _alone(mix: Mix) -> list[Array]:
    return [danger_by_resin(part.worst_view, part.batch.holds) for part in mix.parts]


def total_danger(mix: Mix, stocks: Sequence[Expected] | None = None, alone: Sequence[Array] | None = None) -> float:
    """Return the danger of a mix as one number from 0 to 1.

    Parameters
    ----------
    mix : Mix
    stocks : sequence of Expected, optional
        What is expected of each batch, where other shares than the mix's own are thought of.
    alone : sequence of numpy.ndarray, optional
        How much of each is then dangerous by itself, by resin.
    """
    if any(forbidding_reasons(part) for part in mix.parts):
        return 1.0
    found = danger(_stocks(mix) if stocks is None else stocks, mix.rules, _alone(mix) if alone is None else alone)
    return float(total(*found, mix.rules))


def refusals(mix: Mix, limit: float = DANGER_LIMIT) -> tuple[str, ...]:
    """Return why batches of a mix are not known well enough, what was found first: silence is never permission."""
    out = [why for part in _parts(mix) for why in refusals_of(part, mix.rules, limit)]
    return tuple(dict.fromkeys([*found_items(mix, limit), *out]))


def refusals_of(part: MixPart, rules: Rules, limit: float = DANGER_LIMIT) -> list[str]:
    """Return why a batch is not known well enough."""
    out = []
    name = part.batch.name
    if part.batch.items == 0:
        return [f"{name}: nothing was looked at; unidentified stock may not be melted"]
    if not part.measured:
        out.append(f"{name}: {UNMEASURED}")
    elif too_few(part):
        out.append(f"{name}: too few of it were measured; at least {FEWEST} must be, of those that it holds")
    if SLEEVE in part.batch.labels:
        out.append(f"{name}: {SLEEVES}")
    heat = _only_item(part, rules, limit)
    if heat is not None and not heat.allowed:
        out += [f"{name}: its one item: {why}" for why in heat.reasons]
    if part.batch.holds == 1 and heat is not None:
        return out  # there is nothing else in it
    unlisted = max(float(view.mean()[-1]) for view in part.seen_fully)
    if unlisted > UNLISTED_LIMIT:
        out.append(f"{name}: {unlisted:.0%} of it is expected to be none of the resins in the table")
    flows = flowing(part, rules)
    if flows < MELTED:
        out.append(
            f"{name}: its pieces are not identified well enough: no temperature is known at which more than "
            f"{flows:.0%} of what they may be flows unharmed, and {MELTED:.0%} is asked for"
        )
    return out


def too_few(part: MixPart) -> bool:
    """Return whether fewer items of a batch were measured than leave asks for, whatever marks say of it."""
    fewest = FEWEST if part.batch.holds is None else min(FEWEST, part.batch.holds)
    return sum(group.count for group in part.measured) < fewest


def _only_item(part: MixPart, rules: Rules, limit: float) -> Heat | None:
    """Return the verdict on a batch's one item by itself, None where more were looked at or it was not measured.

    A bag never clears more than that.
    """
    if part.batch.items != 1 or len(part.measured) != 1:
        return None
    setting = replace(Setting.of(rules.model.reference, "default", limit), prior=part.posterior.prior)
    tests = tuple(test for piece in part.batch.pieces for test in piece) or part.measured[0].tests
    return heat_of(setting, tests)


def found_items(mix: Mix, limit: float = DANGER_LIMIT) -> tuple[str, ...]:
    """Return what was found, item by item, that must not be heated or not meet in one melt."""
    out = [why for part in _parts(mix) for why in found_of(part, mix.rules, limit)]
    found = frozenset().union(*(found_resins(part, mix.rules) for part in mix.parts))
    return tuple(dict.fromkeys([*out, *clashing_items(found, mix.rules)]))


def found_of(part: MixPart, rules: Rules, limit: float = DANGER_LIMIT) -> list[str]:
    """Return what was found in a batch, item by item, that must not be heated."""
    heat = _only_item(part, rules, limit)
    stops = () if part.batch.holds == 1 and heat is not None else part.stops
    if heat is not None and heat.verdict == DO_NOT_HEAT:
        stops = (*stops, *(f"its one item: {why}" for why in heat.reasons))
    return [f"{part.batch.name}: {why}" for why in stops]


def provisos(mix: Mix, warned: Iterable[HazardNote]) -> tuple[str, ...]:
    """Return on what condition alone a mix may be heated: its precautions, and how little was measured."""
    reference = mix.rules.model.reference
    conditional = {(h.applies_to, h.hazard) for h in reference.hazards if h.bar == "conditional"}
    out = [
        f"{note.resins[0]}: {PRECAUTIONS}: {note.hazard}: {note.caution}"
        for note in warned
        if note.resins[0] != HOT_PLATE and (note.resins[0], note.hazard) in conditional
    ]
    out += [f"{part.batch.name}: {said}" for part in _parts(mix) for said in stated_cautions(part.batch)]
    return tuple(dict.fromkeys(out))


def stated_cautions(batch: Batch) -> list[str]:
    """Return what to beware of because of how a bag's items come, as is stated of it (common practice, no source)."""
    out = []
    if "paper" in batch.labels:
        out.append("paper labels char in the melt: soak or cut them off")
    if "plastic" in batch.labels:
        out.append("plastic labels may be of another resin: take them off, or count them as contaminants")
    if "foil" in batch.labels:
        out.append("take out foil and springs: metal marks plates and tears the slab")
    if batch.wash == "unwashed":
        out.append("unwashed: residue smokes and weakens; wash it, oil bottles with soap, and dry it to the touch")
    if batch.melted_before >= OFTEN:
        out.append(
            f"melted {batch.melted_before} times before: each melting costs strength; try a small slab and bend it"
        )
    return out


def _parts(mix: Mix) -> list[MixPart]:
    return sorted(mix.parts, key=lambda part: part.batch.name)


def flowing(part: MixPart, rules: Rules) -> float:
    """Return the largest share of a batch's items expected to flow unharmed at one temperature, as for one piece.

    Of two priors the one by which it is less counts.
    """
    melts = heat_rule_of(rules.model.reference).temperatures.melts
    shares = [_of_items(view) @ melts.T for view in part.seen_fully if view.groups]
    return float(np.min(shares, axis=0).max()) if shares else 0.0


def _of_items(view: BagPosterior) -> Array:
    """Return what the items that were looked at are on average, by kind."""
    counts = np.array([group.count for group in view.groups], dtype=np.float64)
    out: Array = counts @ view.items / counts.sum()
    return out


def found_resins(part: MixPart, rules: Rules) -> frozenset[int]:
    """Return the places of the resins that items of a batch were found to be, each item judged by itself."""
    owner = rules.model.kind_owner
    alone = [
        np.bincount(owner, weights=chances)
        for group in part.posterior.groups
        for chances in by_itself(part, group, rules)
    ]
    return frozenset(int(chances.argmax()) for chances in alone if float(chances.max()) > FOUND)


def clashing_items(found: frozenset[int], rules: Rules) -> tuple[str, ...]:
    """Return which two resins were each found in an item by itself and must not meet in one melt."""
    names = rules.model.candidates
    return tuple(
        f"{names[i]} and {names[j]} were both found and are dangerous together; {TAKE_OUT}"
        for i, j in itertools.combinations(sorted(found), 2)
        if rules.clashes[i, j]
    )


def _stocks(mix: Mix) -> list[Expected]:
    # A batch given twice is one batch: its pieces do not meet those of another. Sorted, so that their order
    # cannot change a digit.
    return [worst for _, worst in sorted({part.stream: part.worst for part in mix.parts}.items())]


def cautions(rules: Rules, shares: Array) -> tuple[HazardNote, ...]:
    """Return what to beware of with the resins of a mix, and with any hot plate."""
    mean = shares.mean(axis=0)
    notes = [
        _written(hazard, (name,), float(mean[k]))
        for k, name in enumerate(rules.model.candidates)
        if mean[k] >= 0.01
        for hazard in _hazards(rules, name)
    ]
    notes += [_written(hazard, (HOT_PLATE,), 1.0) for hazard in _hazards(rules, HOT_PLATE)]
    return tuple(sorted(notes, key=lambda note: (note.resins[0] == HOT_PLATE, -note.probability, note.resins)))


def forbidding_reasons(part: MixPart) -> set[str]:
    """Return what was remarked of a batch, or observed of its pieces, that forbids heating whatever they are."""
    remarked = set(part.batch.remarks)
    suspected = set() if "halogen-free" in remarked else remarked & SUSPECT | set(map(_suspect, part.batch.pieces))
    suspected.discard("")
    if part.batch.article in SUSPECT_ARTICLES and "halogen-free" not in remarked:
        suspected.add("electrical housing")
    return (remarked & CERTAIN or suspected) | set(forbidding(test for piece in part.batch.pieces for test in piece))


def _suspect(piece: Sequence[Observation]) -> str:
    """Return which suspect a piece is by the kind of article it is from, unless no halogen was found in it."""
    outcomes = {test.test: getattr(test, "outcome", "") for test in piece if is_built_in(type(test))}
    housing = outcomes.get("article") in SUSPECT_ARTICLES and outcomes.get("copper_wire") != "no green"
    return "electrical housing" if housing else ""


def _hazards(rules: Rules, name: str) -> Sequence[Hazard]:
    return [hazard for hazard in rules.model.reference.hazards if hazard.applies_to == name]


def _written(hazard: Hazard, resins: tuple[str, ...], probability: float) -> HazardNote:
    return HazardNote(resins, probability, hazard.hazard, hazard.onset, hazard.caution, hazard.source)


def _note(rules: Rules, resins: tuple[str, ...], probability: float, listed: str = "") -> HazardNote:
    rows = _hazards(rules, listed or resins[0])
    main = next((row for row in rows if row.bar == "yes"), rows[0] if rows else None)
    if main is None:
        return HazardNote(resins, probability, "no hazard data: treated as forbidden", None, "do not heat", "")
    return _written(main, resins, probability)


def _clash(rules: Rules, first: int, second: int, probability: float) -> HazardNote:
    names = rules.model.candidates
    resins = (names[first], names[second])
    for place in (first, second):
        if rules.barred[place]:
            note = _note(rules, (names[place],), probability)
            return replace(note, resins=resins, caution=f"never in one melt; {note.caution}")
    for one, other in (resins, resins[::-1]):
        for row in _hazards(rules, one):
            if other in row.never_with:
                return _written(row, resins, probability)
    pair = rules.pair(first, second)
    if pair.rating == "dangerous":
        return HazardNote(resins, probability, pair.note, None, "never in one melt", pair.source)
    own, others = rules.windows[first], rules.windows[second]
    weaker = names[first] if own and others and others.low > own.ceiling else names[second]
    note = _note(rules, (weaker,), probability)
    hazard = f"one melts only above what {weaker} bears: {note.hazard}"
    return HazardNote(resins, probability, hazard, note.onset, "never in one melt", note.source)
