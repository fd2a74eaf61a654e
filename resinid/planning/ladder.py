"""A ladder of baths that best sorts some resins into fractions.

The pieces go into the lightest bath first; what floats is skimmed off as one
fraction, what sinks goes on into the next. Of a piece of density ``x`` the chance to
end in fraction ``j`` is ``F_j(x) prod_(i<j) (1 - F_i(x))`` with ``F_i`` the chance to
float or hover in bath ``i``, outliers included. Baths are added one by one where they
tell most of which resin a piece is, then each is moved once more to its best place
among the others.

Oil leaves a film, so it comes last: only the fraction that lies between the baths on either
side of it is put into it, and then washed.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from numbers import Integral
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.errors import Fault, Faults, InputError, UnknownNameError, safe_repr
from resinid.identification.score import model_of
from resinid.io.arguments import as_tuple
from resinid.liquids.flash import may_be_lit
from resinid.methods._guard import liquid_of
from resinid.methods.bench_parser import as_bench
from resinid.methods.dangers import allowed_dangers
from resinid.notebook import Answer
from resinid.planning.bath_fractions import Bath, Rung, fraction_chances
from resinid.planning.candidates import UNLESS, bath_dangers, candidate_tests, unlit
from resinid.planning.information import entropy, information
from resinid.planning.piece_posterior import PiecePosterior
from resinid.reference.table import reference_or_default

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.liquids.liquid import Liquid
    from resinid.methods.bench import Bench
    from resinid.methods.test_plan import TestPlan
    from resinid.planning.candidates import Candidates, Family
    from resinid.reference.table import ReferenceTable


__all__ = ["Ladder", "Rung", "ladder"]

GAIN: Final = 0.03
"""[bit] Information below which another bath is not added (common practice, no source)."""

LIT: Final = 0.1
"""[bit] What a bath that can be lit must tell to be taken, beyond what another would, unless such baths are allowed
(cautious choice)."""

MOST: Final = 8
"""Baths in a ladder at most, unless asked for otherwise."""


@dataclass(frozen=True, slots=True)
class Ladder(Answer):
    """Baths from the lightest to the densest, oils last of all done, and where each resin ends.

    Parameters
    ----------
    resins : tuple of str
        What is to be sorted.
    rungs : tuple of Rung
        The baths, lightest first.
    shares : tuple of tuple of float
        For each resin, the share of its pieces that float in each bath in turn, and
        last the share that sinks in all.
    bits : float
        Information that the fraction gives about the resin [bit].
    unknown : float
        The same for a perfect sorting: log2 of the number of resins [bit].
    withheld : str
        Which baths were left out because they can be lit; empty where none was.
    """

    resins: tuple[str, ...]
    rungs: tuple[Rung, ...]
    shares: tuple[tuple[float, ...], ...]
    bits: float
    unknown: float
    withheld: str = ""

    def __repr__(self) -> str:
        baths = ", ".join(f"{rung.liquid.density:.3f}" for rung in self.rungs)
        return f"<Ladder for {', '.join(self.resins)}: baths of {baths or 'none'} g/cm3, {self.bits:.2f} bits>"

    def to_dict(self) -> dict[str, Any]:
        """Return the ladder as JSON types."""
        return {
            "resins": list(self.resins),
            "baths": [
                {
                    "density": rung.liquid.density,
                    "u": rung.liquid.u,
                    "label": rung.liquid.label,
                    "caution": rung.liquid.caution,
                    "last": rung.liquid.oily,
                    "mix": [part.to_dict() for part in (rung.recipe.parts if rung.recipe else ())],
                }
                for rung in self.rungs
            ],
            "shares": {resin: list(row) for resin, row in zip(self.resins, self.shares, strict=True)},
            "bits": self.bits,
            "unknown_bits": self.unknown,
            "withheld": self.withheld,
        }


def ladder(
    resins: Iterable[str],
    *,
    bench: Bench | str | None = None,
    steps: int = MOST,
    reference: ReferenceTable | None = None,
    allow: Iterable[str] = (),
) -> Ladder:
    """Return the baths that best sort pieces of some resins, each as frequent as another.

    Parameters
    ----------
    resins : iterable of str
        Two or more resins, by symbol or alias.
    bench : Bench or str, optional
        What baths can be mixed from, and jugs that stand ready, as for
        :func:`resinid.next_tests`.
    steps : int, optional
        How many baths at most; fewer are taken where another would tell less than
        :data:`GAIN`.
    reference : ReferenceTable, optional
    allow : iterable of str, optional
        May hold ``"flammable bath"``: then baths that can be lit are offered warm, too, and need not
        tell :data:`LIT` more than others. Those of :data:`resinid.planning.candidates.MIXED` at room
        temperature are offered without it.

    Returns
    -------
    Ladder

    Raises
    ------
    InputError
        An unknown resin, fewer than two, no bath at all, or an argument of the wrong kind.

    Examples
    --------
    >>> found = ladder(["PP", "PE-HD", "PS", "PET"], bench="table salt, ethanol 96 %v/v", steps=3)
    >>> [round(rung.liquid.density, 2) for rung in found.rungs]
    [0.93, 1.02, 1.2]
    >>> warm = ladder(["PP", "PE-HD", "PS"], bench="table salt, ethanol 96 %v/v, bath 30 degC")
    >>> print(warm.withheld)  # doctest: +ELLIPSIS
    lighter baths of ethanol 96 %v/v: their vapour may be lit at 30 °C; left out unless 'flammable bath' is allowed, ...
    """
    chosen = reference_or_default(reference)
    allow = allowed_dangers(allow)
    symbols = _symbols(resins, chosen)
    if not isinstance(steps, Integral) or isinstance(steps, bool) or not 1 <= steps <= 20:
        raise InputError([Fault("steps", f"is {safe_repr(steps, 50)}; give a whole number, 1 to 20")])
    held = as_bench(bench)
    model = model_of(chosen)
    even = np.array([1.0 if symbol in symbols else 0.0 for symbol in model.candidates]) / len(symbols)
    known = PiecePosterior(model, even, ())
    lit = bath_dangers(allow)
    offered = candidate_tests(held, (), lit)
    baths = _baths(offered, known, lit)
    jugs = ", ".join(jug.label for plan, jug in _jugs(offered) if plan.hazard not in {"", *lit})
    left = [*unlit(held, lit), *([(f"the jug of {jugs}", f"its vapour may be lit; {UNLESS}")] if jugs else [])]
    withheld = "; ".join(f"{label}: {why}" for label, why in left)
    taken = _greedy(baths, known, steps)
    if not taken:
        reason = "no bath within reach tells these resins apart; add a salt or an alcohol"
        raise InputError([Fault("bench", f"{reason}; {withheld}" if withheld else reason)])
    for place in range(len(taken)):
        others = taken[:place] + taken[place + 1 :]
        taken[place] = max([taken[place], *baths], key=lambda bath: _worth([*others, bath], known))
    taken.sort(key=lambda bath: bath.density)
    fractions = fraction_chances(taken) @ known.weights("density").T
    by_resin = known.joint(fractions)[:, [model.candidates.index(symbol) for symbol in symbols]]
    return Ladder(
        resins=symbols,
        rungs=tuple(bath.make() for bath in taken),
        shares=tuple(map(tuple, (by_resin / by_resin.sum(axis=0)).T.tolist())),
        bits=_bits(taken, known),
        unknown=float(entropy(known.resins)),
        withheld=withheld,
    )


def _symbols(resins: Iterable[str], reference: ReferenceTable) -> tuple[str, ...]:
    faults = Faults()
    found: list[str] = []
    names = [resins] if isinstance(resins, str) else as_tuple("resins", resins, "'PP', 'PE-HD'")
    for index, name in enumerate(names, start=1):
        try:
            found.append(reference.resin(name).symbol)
        except UnknownNameError as error:
            faults.add(f"resins[{index}]", str(error))
    if len(set(found)) < 2 and not len(faults):
        faults.add("resins", "names fewer than two resins; there is nothing to sort")
    faults.check()
    return tuple(dict.fromkeys(found))


def _jugs(offered: Candidates) -> list[tuple[TestPlan, Liquid]]:
    """Return the plans to float a chip in a jug that stands ready, and the jugs."""
    in_baths = [plan for plan in offered.plans if hasattr(type(plan.outcomes[0]), "in_bath")]
    return [(plan, jug) for plan in in_baths if (jug := liquid_of(plan.outcomes[0])) is not None]


def _baths(offered: Candidates, known: PiecePosterior, lit: tuple[str, ...]) -> list[Bath]:
    latent = known.latent("density")
    out: list[Bath] = []
    for family in offered.families:
        floats = 1.0 - offered.at_nodes(family, latent)[:, 2]
        safe = family.unlit_from
        out += [
            Bath(density, row, functools.partial(_mixed, family, density), not lit and density < safe)
            for density, row in zip(family.densities.tolist(), floats, strict=True)
        ]
    for plan, jug in _jugs(offered):
        if plan.hazard in {"", *lit}:
            row = 1.0 - offered.at_nodes(plan, latent)[2]
            make = functools.partial(Rung, jug, None)
            out.append(Bath(jug.density, row, make, not lit and may_be_lit(jug), jug.oily))
    return out


def _mixed(family: Family, density: float) -> Rung:
    recipe = family.recipe(family.printed(density))
    return Rung(recipe.liquid, recipe)


def _bits(baths: Sequence[Bath], known: PiecePosterior) -> float:
    chances = fraction_chances(baths) @ known.weights("density").T
    return float(information(known.joint(chances)))


def _worth(baths: Sequence[Bath], known: PiecePosterior) -> float:
    """Return the information of some baths, less what those that can be lit must tell more."""
    return _bits(baths, known) - LIT * sum(bath.risky for bath in baths)


def _greedy(baths: Sequence[Bath], known: PiecePosterior, steps: int) -> list[Bath]:
    taken: list[Bath] = []
    bits = 0.0
    while len(taken) < steps:
        scores = [_worth([*taken, bath], known) for bath in baths]
        best = int(np.argmax(scores))
        if scores[best] - bits < GAIN:
            break
        bits = scores[best]
        taken.append(baths[best])
    return taken
