"""Why a mix must not be heated at all: danger comes before everything else."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.mix_outcome import danger
from resinid.batches.stops import FOUND, TAKE_OUT, by_itself, stopping
from resinid.heating.evidence import clearing, forbidding
from resinid.heating.verdict import UNLISTED_LIMIT
from resinid.methods.registry import is_built_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.arrays import Array
    from resinid.batches.bag_posterior import BagPosterior
    from resinid.batches.minority_share import Expected
    from resinid.batches.mix import Mix
    from resinid.batches.mix_part import MixPart
    from resinid.batches.mixing_rules import Rules
    from resinid.methods.contract import Observation
    from resinid.reference.entries import Hazard


__all__ = [
    "CERTAIN",
    "HazardNote",
    "cautions",
    "dangers",
    "forbidding_reasons",
    "found_items",
    "found_resins",
    "further_pieces",
    "identified",
    "provisos",
    "refusals",
    "total_danger",
]

CERTAIN: Final = frozenset({"flame retarded", "halogen found"})
"""Remarks that forbid heating outright."""

SUSPECT: Final = frozenset({"electrical housing", "building board"})
"""Remarks that forbid heating unless a copper-wire test found no halogen."""

SUSPECT_ARTICLES: Final = frozenset({"housing", "connector or switch"})
"""Kinds of articles that are often flame retarded: a piece of one is as good as the remark."""

IDENTIFIED: Final = 0.90
"""How surely a bag's items must be identified before it may be heated (cautious choice)."""

PRECAUTIONS: Final = "only with every precaution named below"

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
    """Return what is dangerous in a mix, most probable first; the probabilities' sum is the danger."""
    rules = mix.rules
    names = rules.model.candidates
    alone, clashing = danger(_stocks(mix), rules)
    notes = [
        replace(_note(rules, (names[k],), float(alone[k])), seen=_seen(mix, k)) for k in np.flatnonzero(alone).tolist()
    ]
    for i, j in zip(*np.nonzero(clashing), strict=True):
        notes.append(_clash(rules, int(i), int(j), float(clashing[i, j])))
    for part in mix.parts:
        forbidding = forbidding_reasons(part)
        notes += [_note(rules, (f"{part.batch.name}: {word}",), 1.0, BROMINATED) for word in sorted(forbidding)]
    return tuple(sorted((n for n in notes if n.probability > 0), key=lambda note: (-note.probability, note.resins)))


def _seen(mix: Mix, resin: int) -> str:
    """Return in which view most of a batch is a dangerous resin, where that is not all that was seen of it."""
    return max(mix.parts, key=lambda part: float(part.worst.mean[resin])).seen


def total_danger(mix: Mix, stocks: Sequence[Expected] | None = None) -> float:
    """Return the danger of a mix as one number from 0 to 1.

    Parameters
    ----------
    mix : Mix
    stocks : sequence of Expected, optional
        What is expected of each batch, where other shares than the mix's own are thought of.
    """
    if any(forbidding_reasons(part) for part in mix.parts):
        return 1.0
    alone, clashing = danger(_stocks(mix) if stocks is None else stocks, mix.rules)
    return min(1.0, float(alone.sum() + clashing.sum()))


def further_pieces(part: MixPart, rules: Rules, limit: float) -> int:
    """Return how many further pieces of a batch, all clean, would bring its own danger to the limit.

    Each clean piece adds one to the weights of the Dirichlet posterior, none of it to dangerous resins.
    """
    expected = float(part.worst.mean @ rules.barred)
    if expected <= limit or limit <= 0:
        return 0
    weight = float(part.posterior.alpha.sum()) + part.posterior.counts.items
    return math.ceil(weight * (expected / limit - 1.0))


def refusals(mix: Mix) -> tuple[str, ...]:
    """Return why batches of a mix are not known well enough, what was found first: silence is never permission."""
    out = [*found_items(mix)]
    for part in _parts(mix):
        name = part.batch.name
        if part.batch.items == 0:
            out.append(f"{name}: nothing was looked at; unidentified stock may not be melted")
            continue
        unlisted = max(float(view.mean()[-1]) for view in (part.posterior, *part.seen_fully))
        if unlisted > UNLISTED_LIMIT:
            out.append(f"{name}: {unlisted:.0%} of it is expected to be none of the resins in the table")
        known = identified(part, mix.rules)
        if known < IDENTIFIED:
            out.append(f"{name}: its pieces are not identified well enough (on average {known:.0%} sure)")
    return tuple(dict.fromkeys(out))


def found_items(mix: Mix) -> tuple[str, ...]:
    """Return what was found, item by item, that must not be heated or not meet in one melt."""
    out = [f"{part.batch.name}: {why}" for part in _parts(mix) for why in stopping(part, mix.rules)]
    return tuple(dict.fromkeys([*out, *clashing_items(mix)]))


def provisos(mix: Mix, warned: Iterable[HazardNote]) -> tuple[str, ...]:
    """Return on what condition alone a mix may be heated: its precautions, and how little was measured."""
    reference = mix.rules.model.reference
    conditional = {(h.applies_to, h.hazard) for h in reference.hazards if h.bar == "conditional"}
    out = [
        f"{note.resins[0]}: {PRECAUTIONS}: {note.hazard}: {note.caution}"
        for note in warned
        if note.resins[0] != HOT_PLATE and (note.resins[0], note.hazard) in conditional
    ]
    out += [
        f"{part.batch.name}: nothing of it was measured; this rests on marks or known origin alone, which may be "
        "wrong: float or weigh some of it first"
        for part in _parts(mix)
        if not part.batch.flakes and not any(clearing(test) for piece in part.batch.pieces for test in piece)
    ]
    return tuple(dict.fromkeys(out))


def _parts(mix: Mix) -> list[MixPart]:
    return sorted(mix.parts, key=lambda part: part.batch.name)


def identified(part: MixPart, rules: Rules) -> float:
    """Return how surely its items are identified: the mean, over items, of the chance of the likeliest family.

    A family is a resin with those that may be taken for it without harm, rated miscible or
    compatible with it: polyethylenes that differ in branching, or polystyrene and its impact grades.
    Whether items are of many makes or of one is not known; the less sure of the two counts.
    """
    families = np.array([rules.family(k) for k in range(part.mean.size - 1)], dtype=np.float64)
    return min(_identified(view, families) for view in (part.posterior, *part.seen_fully))


def _identified(view: BagPosterior, families: Array) -> float:
    mean = view.mean()
    certain = 0.0
    counted = 0
    for group in view.groups:
        of_item = group.likelihood * mean
        certain += group.count * float((families @ (of_item / of_item.sum())).max())
        counted += group.count
    return certain / counted if counted else 0.0


def found_resins(mix: Mix) -> frozenset[int]:
    """Return the resins that some item was found to be by what it alone shows, by their places."""
    alone = [c for part in mix.parts for group in part.posterior.groups for c in by_itself(part, group.likelihood)]
    return frozenset(int(chances.argmax()) for chances in alone if float(chances.max()) > FOUND)


def clashing_items(mix: Mix) -> tuple[str, ...]:
    """Return which two resins were each found in an item by itself and must not meet in one melt."""
    names = mix.rules.model.candidates
    return tuple(
        f"{names[i]} and {names[j]} were both found and are dangerous together; {TAKE_OUT}"
        for i, j in itertools.combinations(sorted(found_resins(mix)), 2)
        if mix.rules.clashes[i, j]
    )


def _stocks(mix: Mix) -> list[Expected]:
    # A batch given twice is one batch: its pieces do not meet those of another.
    return list({part.batch.stream: part.worst for part in mix.parts}.values())


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
