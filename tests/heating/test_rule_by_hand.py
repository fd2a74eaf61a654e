"""The limits of the rule that gives leave to heat, each at its edge; chances are made up for the purpose."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest

from resinid import default_reference
from resinid.heating.melt_windows import window_of
from resinid.heating.rule import MELTED, SHOWN, HeatRule, View, _range
from resinid.heating.temperatures import TEMPERATURES, Temperatures
from resinid.heating.verdict import (
    DANGER_LIMIT,
    DO_NOT_HEAT,
    LOCAL,
    NO_BAR,
    NOT_MEASURED,
    NOT_YET,
    PRECAUTIONS,
    UNLISTED_LIMIT,
    Heat,
)
from resinid.identification.score import model_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

MODEL: Final = model_of(default_reference())
RULE: Final = HeatRule(MODEL)
SMALL: Final = 1e-6
"""Beyond a limit by so much."""


def kind_of(symbol: str, *, retarded: bool = False) -> int:
    """Return the place of a resin's kind, flame-retarded or not."""
    owner = MODEL.candidates.index(symbol)
    found = [k for k, o in enumerate(MODEL.kind_owner.tolist()) if o == owner and bool(MODEL.retarded[k]) == retarded]
    return found[0]


def chances(**shares: float) -> NDArray[np.float64]:
    """Return probabilities by kind; ``none`` is "none of these", the rest is PE-HD."""
    out = np.zeros(MODEL.kind_owner.size)
    for name, share in shares.items():
        out[-1 if name == "none" else kind_of(name.replace("_", "-"))] += share
    out[kind_of("PE-HD")] += 1.0 - out.sum()
    return out


@pytest.mark.parametrize(
    ("what", "limit"),
    [("PVC_U", DANGER_LIMIT), ("none", UNLISTED_LIMIT), ("PEEK", 1.0 - MELTED)],
)
def test_leave_ends_where_a_limit_is_passed(what: str, limit: float) -> None:
    """Of what must not be heated, of "none of these", and of what does not flow where the rest does."""
    for share, allowed in ((limit - SMALL, True), (limit + SMALL, False)):
        some = chances(**{what: share})
        heat = RULE.judge([View(some)])
        assert heat.allowed is allowed
        assert bool(RULE.fits(some[None, :]).any()) is allowed
        assert allowed or heat.verdict == NOT_YET


def test_at_a_limit_itself_leave_stands() -> None:
    """The limits are the most that is borne, in the rule for one piece as in that for many."""
    assert (DANGER_LIMIT, UNLISTED_LIMIT, MELTED, SHOWN) == (0.01, 0.05, 0.9, 0.5)
    for what, limit in (("PVC_U", 0.01), ("none", 0.05), ("PEEK", 0.1)):
        some = chances(**{what: limit})
        assert RULE.judge([View(some)], limit=DANGER_LIMIT).allowed
        assert RULE.fits(some[None, :], DANGER_LIMIT).any()


def test_a_hazard_is_shown_from_one_half_on() -> None:
    """Below one half it is not yet ruled out; in any view, not in the first alone."""
    below, above = (View(chances(PVC_U=share)) for share in (0.5 - SMALL, 0.5))
    assert RULE.judge([below]).verdict == NOT_YET
    assert RULE.judge([above]).verdict == DO_NOT_HEAT
    assert RULE.judge([View(chances()), above]).verdict == DO_NOT_HEAT
    assert RULE.judge([View(chances()), View(chances(PVC_U=0.2), "if so")]).verdict == NOT_YET


def test_the_worst_view_is_told() -> None:
    heat = RULE.judge([View(chances()), View(chances(PVC_U=0.2, PTFE=0.001), "if so"), View(chances(none=0.06))])
    assert heat.hazard == pytest.approx(0.201)
    assert heat.hazard_limit == DANGER_LIMIT
    first, second = heat.reasons
    assert first.startswith(
        "20.1 % chance that it must not be heated, above the limit of 1 %: PVC-U 20 %: hydrogen chl"
    )
    assert first.endswith("(if so)")
    assert "PTFE" not in first
    assert second == "6 % chance that it is none of the resins in the table, above the limit of 5 %"


def test_names_in_a_reason_make_up_a_tenth_of_it_at_least() -> None:
    named = {
        share: "PTFE" in RULE.judge([View(chances(PVC_U=0.3, PTFE=share))]).reasons[0] for share in (0.0330, 0.0340)
    }
    assert named == {0.0330: False, 0.0340: True}
    (reason,) = RULE.judge([View(chances(PVC_U=0.1, PTFE=0.09, PVDF=0.08, NR=0.07))]).reasons
    assert ": PVC-U 10 %, PTFE 9 %, PVDF 8 %: " in reason, "three at most"
    (reason,) = RULE.judge([View(chances(PVC_U=0.123456))]).reasons
    assert reason.startswith("12.3 % chance")


def test_what_does_not_flow_is_named_from_one_hundredth_on() -> None:
    """The likeliest first, three at most: PEEK, PSU and PPS never flow in a shop, nor PC below the onset of ABS."""
    for psu, pc, named in ((0.011, 0.012, "PEEK 9 %, PPS 4 %, PC 1.2 %"), (0.0095, 0.0, "PEEK 9 %, PPS 4 %")):
        some = chances(PEEK=0.09, PPS=0.04, PSU=psu, PC=pc, ABS=0.1)
        (reason,) = RULE.judge([View(some)]).reasons
        assert reason.endswith(f"; else {named}")


def test_no_temperature_is_told_at_which_a_view_sees_a_hazard() -> None:
    """PC flows only where ABS, in the second view alone, gives off cyanide: told is what flows below that."""
    only, beside = chances(PC=1.0), chances(PC=0.9, ABS=0.1)
    (reason,) = RULE.judge([View(only), View(beside)]).reasons
    assert "at 100 °C 0 % of what it may be flows unharmed" in reason
    heat = RULE.judge([View(chances(PC=0.2)), View(chances(PC=0.3, ABS=0.1), "if so")])
    (reason,) = heat.reasons
    at = re.search(r"at (\d+) °C 70 % of what it may be flows unharmed", reason)
    assert at is not None
    assert reason.endswith("else PC 30 % (if so)")
    (onset,) = {h.onset for h in default_reference().hazards if h.applies_to == "ABS" and h.limits_melt}
    assert onset is not None
    assert int(at[1]) <= onset - 5.0
    (reason,) = RULE.judge([View(chances(PVC_U=0.01, PEEK=0.2))]).reasons
    assert reason.startswith("no temperature is known that melts it"), "a hazard at its limit is borne"


def test_what_is_observed_forbids_whatever_the_chances_are() -> None:
    heat = RULE.judge([View(chances())], forbidden=("it smelt of acid",))
    assert (heat.verdict, heat.reasons) == (DO_NOT_HEAT, ("it smelt of acid",))
    assert RULE.judge([View(chances())], measured=False).reasons == (NOT_MEASURED,)


def test_precautions_are_asked_of_what_is_likely() -> None:
    """From one in ten on, those of the likelier resin first; below it none."""
    few, many = (RULE.judge([View(chances(PS_HI=share))]) for share in (0.0999, 0.1))
    assert (few.verdict, few.reasons) == (NO_BAR, ())
    assert many.verdict == PRECAUTIONS
    assert all(reason.startswith("PS-HI: ") for reason in many.reasons)
    assert few.cautions[-1] == LOCAL
    assert all(caution.startswith("PE-HD: ") for caution in few.cautions[:-1])


def test_a_flame_retarded_kind_is_never_heated() -> None:
    some = chances()
    some[:] = 0.0
    some[kind_of("ABS", retarded=True)] = 1.0
    assert set(RULE.barred) == {0.0, 1.0}
    assert RULE.barred[-1] == 0.0, "none of these has a limit of its own"
    heat = RULE.judge([View(some)])
    assert heat.verdict == DO_NOT_HEAT
    assert "flame-retarded ABS 100 %" in heat.reasons[0]


def test_the_range_is_the_coolest_run_of_temperatures() -> None:
    """From where nine in ten flow to where the hazard passes its limit: the hand's sums over the arrays."""
    some, temperatures = chances(PP=0.5), RULE.temperatures
    heat = RULE.judge([View(some)])
    fits = (temperatures.hazard @ some <= DANGER_LIMIT) & (temperatures.melts @ some >= MELTED)
    assert fits.any()
    assert (heat.low, heat.high) == (TEMPERATURES[fits][0], TEMPERATURES[fits][-1])
    assert heat.hazard == pytest.approx((temperatures.hazard @ some)[fits].min())
    assert _range(TEMPERATURES >= 250.0) == (250.0, TEMPERATURES[-1]), "what flows as hot as is considered"
    assert _range((TEMPERATURES == 200.0) | (TEMPERATURES > 220.0)) == (200.0, 200.0)


def test_under_the_cautious_prior_chances_are_weighed_again() -> None:
    """Bayes' rule by hand: each kind's chance times the ratio of its resin's priors."""
    prior = np.full(len(MODEL.candidates), 1.0 / len(MODEL.candidates))
    pvc, raised = kind_of("PVC-U"), set()
    for some in (chances(PVC_U=0.004, PP=0.3), chances(PVC_U=0.004, PEEK=0.99)):
        ratio = (RULE.cautious / prior)[MODEL.kind_owner]
        by_hand = some * ratio / (some * ratio).sum()
        np.testing.assert_allclose(RULE.reweighed(some, prior), by_hand, rtol=1e-12)
        np.testing.assert_allclose(RULE.reweighed(np.stack([chances(), some]), prior)[1], by_hand, rtol=1e-12)
        found = RULE.judge([View(some)], limit=0.0, prior=prior)
        assert found.hazard == pytest.approx(max(some[pvc], by_hand[pvc]))
        raised.add(bool(by_hand[pvc] > some[pvc]))
        assert ("by the cautious prior" in found.reasons[0]) is bool(by_hand[pvc] > some[pvc])
    assert raised == {True, False}


def test_many_are_judged_as_one_is() -> None:
    """Draws of chances, by a prior and without: the rule for many and that for one give leave alike, in any block."""
    rng = np.random.default_rng(7)
    some = rng.dirichlet(np.full(MODEL.kind_owner.size, 0.02), size=5000)
    some[:2000] = 0.97 * chances() + 0.03 * some[:2000]
    prior = np.full(len(MODEL.candidates), 1.0 / len(MODEL.candidates))
    for given in (None, prior):
        fits = RULE.fits(some, prior=given)
        for row in (*range(40), *range(4090, 4110)):
            heat = RULE.judge([View(some[row])], prior=given)
            assert heat.allowed is bool(fits[row].any())
            if heat.allowed:
                assert heat.low == TEMPERATURES[fits[row]][0]
        assert 0 < fits.any(axis=1).sum() < len(some)


SOFTENS: Final = MODEL.latent("softening_temperature").values


def _below(kind: int) -> NDArray[np.float64]:
    """Return the share of a kind's pieces that soften up to each node, of those that soften; infinity is the last."""
    rows = MODEL.kind_gathering[:-1, kind] @ MODEL.latent("softening_temperature").mass[:-1]
    shares = rows[:-1].cumsum()
    out: NDArray[np.float64] = shares / shares[-1]
    return out


def test_arrays_over_temperature_by_hand() -> None:
    """PVC is a hazard throughout; ABS past its onset of cyanide, less 5 K, counts a fifth; PE-HD flows molten.

    A glassy resin flows where a melt temperature is printed, a crystalline one there and where it is molten; neither
    above what it bears for five minutes.
    """
    np.testing.assert_array_equal(TEMPERATURES, np.linspace(100.0, 300.0, 41))
    found, reference = Temperatures.of(MODEL), default_reference()
    assert (found.hazard[:, kind_of("PVC-U")] == 1.0).all()
    (onset,) = {h.onset for h in reference.hazards if h.applies_to == "ABS" and h.limits_melt}
    assert onset is not None
    past = onset - 5.0 < TEMPERATURES
    np.testing.assert_array_equal(found.hazard[:, kind_of("ABS")], np.where(past, 0.2, 0.0))
    crystalline = {v.resin for v in reference.variants if v.softens == "melting"}
    for kind, owner in enumerate(MODEL.kind_owner[:-1].tolist()):
        symbol = MODEL.candidates[owner]
        window = window_of(reference, symbol)
        printed = np.zeros(41) if window is None else np.ones(41)
        if window is not None:
            printed[(window.coolest > TEMPERATURES) | (min(window.high, window.borne) < TEMPERATURES)] = 0.0
        if symbol in crystalline and window is not None:
            assert (found.melts[:, kind] >= printed).all(), symbol
            # Molten is where 95 % of the kind's pieces are, 10 K further it is molten through.
            molten = float(np.interp(0.95, _below(kind), SOFTENS[:-1])) + 10.0
            flows = (min(window.coolest, molten) <= TEMPERATURES) & (min(window.high, window.borne) >= TEMPERATURES)
            np.testing.assert_array_equal(found.melts[:, kind], flows, err_msg=symbol)
        else:
            np.testing.assert_array_equal(found.melts[:, kind], printed, err_msg=symbol)


def test_what_misses_a_limit_never_looks_like_it() -> None:
    """As many digits are printed as show that a share lies above its limit, or below what is asked for."""
    told = [
        RULE.judge([View(chances(**{what: share}))]).reasons[0]
        for what, share in (("PVC_U", 0.0100004), ("none", 0.0500003), ("PEEK", 0.1000002))
    ]
    assert told[0].startswith("1.00004 % chance that it must not be heated, above the limit of 1 %")
    assert told[1].startswith("5.00003 % chance that it is none of the resins in the table, above the limit of 5 %")
    assert "89.99998 % of what it may be flows unharmed, and 90 % is asked for" in told[2]


@pytest.mark.parametrize(("what", "limit"), [("PVC_U", 0.01), ("none", 0.05), ("PEEK", 0.1)])
def test_under_the_cautious_prior_the_same_limits_hold(what: str, limit: float) -> None:
    """A caller who takes PE-HD for ten times as likely: Bayes' rule by hand says what share is then at the limit."""
    prior = RULE.cautious.copy()
    prior[MODEL.candidates.index("PE-HD")] *= 10.0
    share = limit / (10.0 - 9.0 * limit)
    for own, allowed in ((share - SMALL, True), (share + SMALL, False)):
        some = chances(**{what: own})
        assert RULE.judge([View(some)]).allowed, "by the caller's prior alone"
        assert RULE.judge([View(some)], prior=prior / prior.sum()).allowed is allowed
        assert bool(RULE.fits(some[None, :], prior=prior / prior.sum()).any()) is allowed


def test_words_of_the_range() -> None:
    """In the headline once, where it may be melted; a single temperature is no range."""
    wide, single = (
        Heat(verdict, (), (), low=low, high=200.0) for verdict, low in ((NO_BAR, 180.0), (PRECAUTIONS, 200.0))
    )
    assert wide.headline == "may be melted from 180 to 200 °C: nothing found forbids it, with the cautions below"
    assert single.headline == "may be melted at 200 °C, with every precaution named below"
    refused = Heat(NOT_YET, ("one",), (), low=180.0, high=200.0)
    assert (refused.range, refused.headline, refused.hazard) == ("", NOT_YET, 1.0)
    assert Heat(NO_BAR, (), ()).headline == NO_BAR
