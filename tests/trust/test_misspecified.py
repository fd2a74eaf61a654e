"""The stated probabilities where the world is not as the engine assumes.

Fillers, foaming and pigment that the table does not know, a test botched for
certain, a thermometer that is off, and plastics that the table does not list.
How much of each: common practice, no source.
"""

from __future__ import annotations

import functools
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from absent import absent, drawn
from changed_pieces import MEASURED, MOST_TESTS, PRIORS, REPORTED, SCALAR_SLOTS, TARGET, filled, foamed, with_prior
from scores import Claims, chance_error
from simulate import SLOTS, Piece, World, bench

from resinid import default_reference, identify
from resinid.identification.score import heat_rule_of, model_of
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

    from resinid import ReferenceTable

    Shares = NDArray[np.float64]

    Change = Callable[[np.random.Generator, Piece], Piece]

PIECES: Final = 2_400

SHARE: Final = 0.25
"""Share of pieces that are changed in a workshop's scrap; the table is printed for all pieces changed, too."""


PIGMENTS: Final = (4.2, 1.86, 5.2)
"""[g/cm3] Titanium dioxide, carbon black, iron oxide."""


FLOOR: Final = 0.58
"""What is held of that for plastics not in the table: the bar above is missed, as the test says."""

REACHED: Final = {"filled": 0.12, "foamed": 0.15, "one test botched": 0.10}
"""Where every piece is so, the target is missed; these are held (found 0.095, 0.122 and 0.088, noise 0.01)."""

WRONG: Final = 0.02
"""Share of pieces that must not be heated with leave all the same, in any of these worlds: the limit of hazard, and two
standard errors of some 400 such pieces. Found 0 to 0.9 %."""


def pigmented(rng: np.random.Generator, piece: Piece) -> Piece:
    """Add 1 to 5 % of pigment."""
    load, own = rng.uniform(0.01, 0.05), piece.values["density"]
    return piece.changed(density=1 / ((1 - load) / own + load / rng.choice(PIGMENTS)))


def sometimes(change: Change, share: float) -> Change:
    return lambda rng, piece: change(rng, piece) if rng.random() < share else piece


def claims_in(worlds: tuple[World, ...]) -> tuple[Claims, float, float]:
    """Test pieces in worlds by turns; the shares with leave to heat of what may be and of what must not be heated."""
    rng, claims = np.random.default_rng(47), Claims()
    candidates = model_of(default_reference()).candidates
    barred = heat_rule_of(default_reference()).barred
    leave: tuple[list[bool], list[bool]] = ([], [])
    for index in range(PIECES):
        world = worlds[index % len(worlds)]
        piece = world.piece(rng)
        tests = int(rng.integers(1, MOST_TESTS + 1))
        slots = [SLOTS[place] for place in rng.permutation(len(SLOTS))[:tests]]
        answer = identify(bench(rng, world, piece, slots))
        claims.add(answer, candidates[piece.candidate])
        if candidates[piece.candidate] != NONE_OF_THESE:
            leave[int(barred[piece.candidate])].append(answer.heat.allowed)
    rightly, wrongly = (float(np.mean(each)) for each in leave)
    return claims, rightly, wrongly


def mixed(world: World) -> tuple[World, ...]:
    """One piece in four from that world, the others as assumed."""
    return (world, *[World()] * round(1 / SHARE - 1))


@pytest.mark.slow
def test_calibrated_where_the_world_is_otherwise(capsys: pytest.CaptureFixture[str]) -> None:
    """Expected calibration error under 0.08 with one piece in four changed, and for any thermometer or pigment.

    With a test botched in every piece it is a little above that, and so it is with every piece filled or foamed:
    at such shares the prior over grades is wrong, not only the piece. What is reached is held.
    test_bounds.py says what knowing all about fillers and foam would help, and what it costs. Named wrongly
    above one half are foamed pieces of anything as PP, foamed PVC and polyethylene, whose densities they
    now have, and filled ones as PE-HD, PVC-U, PET and PA12.
    """
    worlds = {
        "as assumed": World(),
        "filled": World(change=filled),
        "foamed": World(change=foamed),
        "pigmented": World(change=pigmented),
        "one test botched": World(botched=1),
        "thermometer 10 K high": World(thermometer=10.0),
        "thermometer 10 K low": World(thermometer=-10.0),
    }
    lines, errors, wrongly = [], {}, {}
    for name, world in worlds.items():
        for share, mix in (("one in four", mixed(world)), ("every piece", (world,))):
            if world == World() and share != "one in four":
                continue
            claims, rightly, wrongly[name, share] = claims_in(mix)
            said, right = claims.arrays()
            chance = chance_error(said, np.random.default_rng(53))
            errors[name, share] = claims.error()
            by_tests = "".join(f"{claims.error(tests):7.3f}" for tests in range(1, MOST_TESTS + 1))
            lines.append(
                f"  {name:22}{share:12}{claims.error():7.3f}{chance:7.3f}{said.mean():8.2f}{right.mean():7.2f}"
                f"{np.mean(claims.loss):7.2f}{rightly:9.1%}{wrongly[name, share]:9.2%} {by_tests}"
            )
    with capsys.disabled():
        print(f"\nexpected calibration error, {PIECES} simulated pieces a line, one to six tests each; target {TARGET}")
        print(
            f"  {'world':22}{'changed':12}{'ECE':>7}{'chance':>7}{'stated':>8}{'right':>7}{'loss':>7}"
            f"{'leave':>9}{'wrong':>9}  ECE by tests"
        )
        print("\n".join(lines))
    for name in worlds:
        assert errors[name, "one in four"] < TARGET, name
    for name in ("pigmented", "thermometer 10 K high", "thermometer 10 K low"):
        assert errors[name, "every piece"] < TARGET, name
    assert max(wrongly.values()) < WRONG
    for name, reached in REACHED.items():
        assert TARGET < errors[name, "every piece"] < reached, f"{name}: if the target is met, say so"


def withheld(
    rng: np.random.Generator,
    make: Callable[[], Piece],
    reference: ReferenceTable,
    kinds: tuple[str, ...],
    fewest: int = 3,
) -> Shares:
    """Return the shares of pieces given no listed resin's name above 50 %, ``fewest`` to six of those tests each.

    One share for each of :data:`PRIORS`.
    """
    held = []
    for index in range(48):
        order = rng.permutation(len(kinds))[: fewest + index % (MOST_TESTS + 1 - fewest)]
        answer = identify(bench(rng, World(), make(), [kinds[place] for place in order]), reference=reference)
        best = answer.probability[int(answer.leader == NONE_OF_THESE)]
        afterwards = [with_prior(prior, answer[NONE_OF_THESE], best) for prior in PRIORS]
        held.append([none > best or best < 0.5 for none, best in afterwards])
    out: Shares = np.mean(held, axis=0)
    return out


def by_prior(shares: Iterable[Shares]) -> str:
    return "   ".join(
        f"{prior:.2f}: {each:.2f}" for prior, each in zip(PRIORS, np.mean([*shares], axis=0), strict=True)
    )


def by_name(shares: dict[str, Shares]) -> str:
    """Return the shares with our own prior, the least first."""
    return ", ".join(f"{name} {share:.2f}" for share, name in sorted((each[0], name) for name, each in shares.items()))


@pytest.mark.slow
def test_absent_plastics_are_not_named(capsys: pytest.CaptureFixture[str]) -> None:
    """Of plastics not in the table, with three or more tests, some get no resin's name above 50 %.

    The bar of 80 % is missed: 62 % with three to six tests of any kind (69 % when the default prior lay
    halfway to uniform), 53 % where density, softening and modulus are all measured. The misses lie within the printed
    scatter of a listed resin in everything measured (PFA on PTFE, PES on PET, PCL on
    plasticised PVC, PA11 on PA12, polybutene on PE-LLD), so only a larger prior of
    "none of these" would withhold the name. One who knew all these plastics would withhold
    80 % with our prior, and fewer where all three are measured (test_bounds.py).

    Tried once by changing the code, when chances of an outlier were 3 to 5 %: "none of these"
    as a sum over all variants, each widened in density, softening and modulus together,
    withheld no more than the product of the three broad ranges does; nor did its width matter
    (a fifth to all of ``SpreadRule.unlisted``, 5 or 20 % of it broad: the same within 1 %). What
    larger priors would withhold is printed here and below, what they lose on published
    pieces by test_bounds.py.

    PMP is lighter than any listed resin that softens so high, which shows where both are
    measured: 77 % of it is withheld there, and 65 % after three to six tests of any kind.

    Sources: absent_plastics.csv, a row each.
    """
    rng, reference = np.random.default_rng(59), default_reference()
    assert not {row["plastic"] for row in absent()} & set(reference.symbols)
    for kinds, fewest, what in ((SCALAR_SLOTS, 3, "three to six tests"), (MEASURED, MOST_TESTS, ", ".join(MEASURED))):
        shares = {
            row["plastic"]: withheld(rng, functools.partial(drawn, rng, row), reference, kinds, fewest)
            for row in absent()
        }
        mean = float(np.mean([share[0] for share in shares.values()]))
        with capsys.disabled():
            print(f"\nplastics not in the table, {what}: share not named above 50 %: {mean:.2f}, target {REPORTED}")
            print("  " + by_name(shares))
            print(f"  by the prior of 'none of these'   {by_prior(shares.values())}")
        if kinds == SCALAR_SLOTS:
            assert mean > FLOOR
    assert shares["PMP"][0] > FLOOR, "lighter than any listed resin that softens so high"


def without(reference: ReferenceTable, symbol: str) -> ReferenceTable:
    """Return a table that does not list a resin."""
    return replace(
        reference,
        resins=tuple(row for row in reference.resins if row.symbol != symbol),
        variants=tuple(row for row in reference.variants if row.resin != symbol),
        statements=tuple(row for row in reference.statements if row.resin != symbol),
        behaviours=tuple(row for row in reference.behaviours if row.resin != symbol),
        hazards=tuple(row for row in reference.hazards if row.applies_to != symbol),
        demand=tuple(row for row in reference.demand if row.resin != symbol),
        melt_groups=tuple(
            replace(row, members=tuple(one for one in row.members if one != symbol)) for row in reference.melt_groups
        ),
        streams=tuple(
            replace(row, resins=tuple(one for one in row.resins if one != symbol) or ("other",))
            for row in reference.streams
        ),
        digest=f"{reference.digest} without {symbol}",
    )


@pytest.mark.slow
def test_each_resin_left_out_in_turn(capsys: pytest.CaptureFixture[str]) -> None:
    """A resin left out of the table is not named as another above one half, in three cases of five.

    A twin is a resin that the published properties hardly tell apart from another of
    its kind (the polyethylenes, the styrenics, the two PVCs, the two rubbers): without
    it the other is a fair answer. The bar of 80 % is missed: 66 % for all and 69 % without the twins (noise
    0.01). It was met (81 %) when the default prior lay halfway to uniform; a workshop's scrap is mostly
    of few resins, so what a rare one looks like is more often named.
    """
    reference = default_reference()
    world, rng = World(), np.random.default_rng(61)
    twins = {"PE-HD", "PE-MD", "PE-LLD", "PE-LD", "EVAC", "PVC-U", "PVC-P", "NR", "VMQ", "PUR", "PS-E", "TPS"}
    twins |= {"PS", "PS-HI", "ABS", "ASA", "SAN", "PA6", "PA66"}
    shares = {}
    for candidate, symbol in enumerate(reference.symbols):

        def make(candidate: int = candidate) -> Piece:
            return world.piece_of(rng, candidate)

        shares[symbol] = withheld(rng, make, without(reference, symbol), SLOTS)
    alone = float(np.mean([share[0] for symbol, share in shares.items() if symbol not in twins]))
    every = float(np.mean([share[0] for share in shares.values()]))
    with capsys.disabled():
        print(f"\nresins left out in turn: share not named above 50 %: all {every:.2f}, without twins {alone:.2f}")
        print("  " + by_name(shares))
        print(f"  all, by the prior of 'none of these'   {by_prior(shares.values())}")
    assert FLOOR < every < alone < REPORTED, "if the target is met, say so"
