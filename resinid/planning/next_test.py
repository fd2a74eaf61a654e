"""What to do next: rank the tests at hand by what they are expected to tell."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Fault, InputError, safe_repr
from resinid.heating.evidence import clearing, forbidding
from resinid.heating.verdict import DANGER_LIMIT, danger_limit_of
from resinid.identification.identify import identify
from resinid.identification.score import Setting
from resinid.io.arguments import as_names, as_tuple, check_prior
from resinid.methods._guard import liquid_of, term_of
from resinid.methods.bench_parser import as_bench
from resinid.methods.dangers import allowed_dangers
from resinid.methods.offered import kernel
from resinid.methods.registry import trusted_tests
from resinid.methods.shapes import suited
from resinid.planning.advice import Advice, Foreseen, Suggestion
from resinid.planning.candidates import Candidates, Family, bath_dangers, candidate_tests, neighbours, oil_last, unlit
from resinid.planning.danger_guard import DangerGuard
from resinid.planning.heat_goal import HeatGoal
from resinid.planning.information import entropy, information
from resinid.planning.piece_posterior import PiecePosterior
from resinid.planning.question import Question, question_of
from resinid.planning.stopping import RARELY, WORTH, information_limit, settled_by, verdict
from resinid.reference.table import reference_or_default
from resinid.scoring.contradiction import contradicting

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from resinid.arrays import Array
    from resinid.identification.result import Result
    from resinid.methods.bench import Bench
    from resinid.methods.contract import Method, Observation
    from resinid.methods.test_plan import TestPlan
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.properties import Observable


__all__ = ["RANKINGS", "next_tests"]

RANKINGS: Final = ("bits per minute", "bits")

SHARPEST: Final = 2e-4
"""[g/cm3] How finely the best density of a bath is sought."""

NEARBY: Final = 0.0005
"""[g/cm3] Steps beside the best bath in which those are tried whose amounts round off better."""


def next_tests(
    observations: Iterable[Observation | Mapping[str, object]] = (),
    *,
    bench: Bench | str | None = None,
    question: str | Mapping[str, Iterable[str]] = "resin",
    enough: float | None = None,
    allow: Iterable[str] = (),
    without: Iterable[str] = (),
    by: str = "bits per minute",
    repeats: bool | None = None,
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    methods: Iterable[Method] = (),
    danger_limit: float = DANGER_LIMIT,
    trusted: Iterable[str] = (),
) -> Advice:
    """Rank the tests that could be done next, and say when to stop.

    Parameters
    ----------
    observations : iterable of Observation or mapping, optional
        What is known so far, as :func:`resinid.identify` takes it.
    bench : Bench or str, optional
        What is at hand; a text as :func:`resinid.methods.bench_parser.parse_bench` takes it.
        Not given: water, salt, rubbing alcohol, a 0.1 g scale, a strip, a hot plate.
    question : str or mapping, optional
        ``"resin"``, ``"melt group"``, ``"pvc"``, or answers with their resins.
    enough : float, optional
        Probability at which an answer counts as settled; 0.90 if not given, and 0.99
        for "it is not PVC".
    allow : iterable of str, optional
        Dangers to allow, of :data:`resinid.methods.dangers.DANGERS`. Without it, a hot plate is
        offered only once the resins of which some hazard in the table says never to heat
        anything with them (PVC, acetal, celluloid) are together less probable than the
        danger limit, and all that must not be heated (fluoropolymers, thermosets, rubbers
        as well) than 0.05; the others never are. With it, a hot plate is still held back
        from what is likelier than not such a resin. A burn is held back by the first two
        limits even where it is allowed; not so a copper wire, which takes a smear of the
        piece and asks for PVC. Nothing is heated once something found forbids it.
    without : iterable of str, optional
        What cannot be done: names of tests, or keys of plans.
    by : {"bits per minute", "bits"}, optional
        What to rank by.
    repeats : bool, optional
        Whether to offer again, unchanged, what was done already; if not given, only for the question
        "heat". A repeat tells of slips: a verdict that rests on one hot plate is as sure as
        that plate. How far a person's slips are independent has no source; see
        :data:`resinid.scoring.shared_error.COMMON`.
    prior, table, methods : optional
        As for :func:`resinid.identify`.
    danger_limit : float, optional
        Probability of PVC, acetal and the like above which no hot plate is offered, at most 0.05.
    trusted : iterable of str, optional
        As for :func:`resinid.identify`; what other plug-ins tell gets no hot plate or burn offered.

    Returns
    -------
    Advice

    Raises
    ------
    InputError
        Every fault of the observations, of what is at hand, or of the question; or an argument of
        the wrong kind.
    UnknownNameError
        No prior, or no question, is called that.
    MethodError
        One of ``methods`` does not keep the contract.
    RangeError
        A danger limit that is no number from 0 to 0.05.

    Notes
    -----
    Expected information is the mutual information between outcome and answer given
    the observations, with the latent properties of the piece, shared errors, outliers
    and "none of these" integrated as :func:`resinid.identify` does.

    Examples
    --------
    >>> seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
    >>> advice = next_tests(seen, bench="ethanol 96 %v/v", by="bits", without=["article", "process"])
    >>> advice.verdict, advice.best.plan.key
    ('go on', 'float in ethanol 96 %v/v')
    >>> 0.93 < advice.best.plan.recipe.liquid.density < 0.96
    True
    """
    borne = danger_limit_of(danger_limit)
    declined, extra = frozenset(as_names("without", without, "softening")), as_tuple("methods", methods, "METHOD")
    allowed = tuple(sorted(set(allowed_dangers(allow, extra))))
    check_prior(prior)
    held = as_bench(bench, extra)
    if by not in RANKINGS:
        raise InputError([Fault("by", f"{safe_repr(by)} is not one of {', '.join(RANKINGS)}")])
    chosen = reference_or_default(reference)
    asked = question_of(chosen, question, enough)
    result = identify(
        observations,
        prior=prior,
        reference=chosen,
        methods=extra,
        allow=allowed,
        trusted=trusted,
        danger_limit=borne,
    )
    trust = trusted_tests(trusted, extra)
    setting = Setting.of(chosen, prior, borne, trust)
    model, before = setting.model, setting.prior
    known = PiecePosterior(model, before, result.observations)
    own = [each for each in result.observations if clearing(each, trust)]
    seen = [known.resins]
    if len(own) < len(result.observations):
        # A mark, an article or a plug-in's test may raise the chance of a dangerous resin, not lower it.
        seen.append(PiecePosterior(model, before, own).resins)
    offered = candidate_tests(held, extra, bath_dangers(allowed))
    done = {_doing(observation) for observation in result.observations}
    again = asked.name == "heat" if repeats is None else repeats
    plans = [plan for plan in suited(offered.plans, result.observations) if not declined & {plan.key, plan.test}]
    families = [family for family in offered.families if not declined & {f"float in {family.source}", "float"}]
    guard = DangerGuard(seen, chosen, before, allowed=allowed, limit=borne, found=forbidding(result.observations))
    safe = [plan for plan in plans if not guard.why(plan) and (again or _doing(plan.outcomes[0]) not in done)]
    goal = _goal(setting, known, result) if asked.name == "heat" else None
    suggestions = [_suggestion(plan, known, asked, offered, goal) for plan in safe]
    suggestions += [_best_bath(family, known, asked, offered, goal) for family in families]
    rank = _ranking(by, goal)
    suggestions.sort(key=rank)
    dangerous = [_suggestion(plan, known, asked, offered, goal) for plan in plans if guard.could(plan)]
    telling = [each for each in dangerous if max(each.settles, each.bits) >= WORTH]
    held_back = sorted((each for each in telling if not suggestions or rank(each) < rank(suggestions[0])), key=rank)
    suggestions = [_named_again(found) if _doing(found.plan.outcomes[0]) in done else found for found in suggestions]
    suggestions = oil_last(suggestions)
    withheld = tuple((plan.label, why) for plan in plans if (why := guard.why(plan)))
    withheld += unlit(held, allowed, declined)
    in_reach: list[Observable] = [plan.observes for plan in plans if not guard.forbidden(plan)]
    in_reach += ["density"] if families else []
    limit = information_limit(known, asked, tuple(dict.fromkeys(in_reach)), goal)
    answers = asked.gather(known.resins)
    said, reason = verdict(asked, answers, suggestions, limit, withheld=withheld, goal=goal)
    order = np.argsort(-answers, kind="stable").tolist()
    if goal is not None:
        result = replace(result, heat=replace(result.heat, settled_by=settled_by(result, suggestions)))
    return Advice(
        question=asked.name,
        answers=tuple((asked.answers[index], float(answers[index])) for index in order),
        suggestions=tuple(suggestions),
        verdict=said,
        reason=reason,
        unknown=float(entropy(answers)),
        bits_left=limit.bits,
        settleable=limit.settles,
        withheld=withheld,
        result=result,
        held_back=tuple(held_back),
    )


def _goal(setting: Setting, known: PiecePosterior, result: Result) -> HeatGoal:
    clears = [each for each in result.observations if clearing(each, setting.trusted)]
    some = len(clears) < len(result.observations)
    cleared = PiecePosterior(setting.model, setting.prior, clears) if some else None
    terms = [term_of(each) for each in result.observations]
    places = contradicting(setting.model, terms, setting.rule.cautious)
    disputed = tuple(dict.fromkeys(terms[place].observes for place in places))
    return HeatGoal(setting, known, cleared, result.heat, forbidding(result.observations), disputed)


def _ranking(by: str, goal: HeatGoal | None) -> Callable[[Suggestion], tuple[float, float]]:
    """Return what tests are sorted by: for heating the chance of a sure verdict a minute, while none is reached.

    A test that rarely brings one goes by what it tells, as all do once the verdict is sure.
    """

    def key(found: Suggestion) -> tuple[float, float]:
        bits = found.bits if by == "bits" else found.bits_per_minute
        if goal is not None and not clearing(type(found.plan.outcomes[0]), goal.setting.trusted):
            bits = 0.0  # a mark or an article clears nothing, however much it tells
        minutes = 1.0 if by == "bits" else found.plan.minutes
        hopeful = goal is not None and not goal.settled and found.settles >= RARELY
        return (-found.settles / minutes if hopeful else 0.0, -bits)

    return key


def _named_again(found: Suggestion) -> Suggestion:
    """Return a suggestion of a test that was done before so that it says so."""
    return replace(found, plan=replace(found.plan, label=f"again, with a fresh chip: {found.plan.label}"))


def _doing(observation: Observation) -> tuple[str, object]:
    """Return what makes two tests the same thing to do."""
    return observation.test, liquid_of(observation)


def _suggestion(
    plan: TestPlan, known: PiecePosterior, question: Question, offered: Candidates, goal: HeatGoal | None = None
) -> Suggestion:
    at_nodes = None
    if known.standing(plan.observes) and any(plan is one for one in offered.plans):
        at_nodes = offered.at_nodes(plan, known.latent(plan.observes))
    chances = known.chances(plan, at_nodes)
    joint = question.gather(known.joint(chances))
    outcome = joint.sum(axis=1)
    after = joint / np.maximum(outcome, np.finfo(np.float64).tiny)[:, None]
    return Suggestion(
        plan,
        _bits(chances, known, question, goal),
        float(outcome @ question.settled(after)) if goal is None else goal.chance(plan, chances),
        _foreseen(plan, outcome, after, question),
    )


def _foreseen(plan: TestPlan, outcome: Array, after: Array, question: Question) -> tuple[Foreseen, ...]:
    leaders = after.argmax(axis=1)
    best = after.max(axis=1)
    if not plan.asks:
        seen = [
            Foreseen(made.describe(), float(outcome[row]), question.answers[leaders[row]], float(best[row]))
            for row, made in enumerate(plan.outcomes)
        ]
    else:
        seen = []
        for answer in np.unique(leaders).tolist():
            rows = leaders == answer
            chance = float(outcome[rows].sum())
            then = float(outcome[rows] @ best[rows]) / chance if chance > 0 else float(best[rows].mean())
            name = question.answers[answer]
            seen.append(Foreseen(f"a reading that points to {name}", chance, name, then))
    return tuple(sorted(seen, key=lambda one: -one.probability))


def _best_bath(
    family: Family, known: PiecePosterior, question: Question, offered: Candidates, goal: HeatGoal | None = None
) -> Suggestion:
    """Return the float test in the bath of one reagent that is expected to tell most."""
    from scipy.optimize import minimize_scalar

    latent, weights = known.latent("density"), known.weights("density")
    standing = known.standing("density")
    kernels = offered.at_nodes(family, latent) if standing else family.kernels(latent.values)

    # Sums over the variants of an answer come first, for then only as many as there are answers are summed over nodes.
    by_answer = question.gather(known.joint(weights.T))

    def bits(at_nodes: Array) -> Array:
        # One product of matrices takes a third of the time of one for each bath.
        joint = at_nodes.reshape(-1, latent.values.size) @ by_answer
        return information(joint.reshape(*at_nodes.shape[:-1], -1))

    index = int(bits(kernels).argmax())
    low, high = neighbours(family.densities, index)

    def loss(density: float) -> float:
        return -float(bits(kernel(family.at(density), latent.values)))

    found = minimize_scalar(loss, bounds=(low, high), method="bounded", options={"xatol": SHARPEST})
    # Amounts are rounded as they can be measured, so that a density tried before may tell more than the best one.
    near = (float(found.x) + step for step in (-2 * NEARBY, -NEARBY, 0.0, NEARBY, 2 * NEARBY))
    tried = dict.fromkeys(family.printed(each) for each in (*near, float(family.densities[index])))
    plans = [family.plan(density) for density in tried]
    best = max(plans, key=lambda plan: _bits(known.chances(plan), known, question, goal))
    return _suggestion(best, known, question, offered, goal)


def _bits(chances: Array, known: PiecePosterior, question: Question, goal: HeatGoal | None) -> float:
    """Return what a test is expected to tell [bit], from the chance of each outcome for each variant."""
    if goal is not None:
        return goal.bits(chances)
    return max(float(information(question.gather(known.joint(chances)))), 0.0)
