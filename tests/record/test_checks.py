"""Instruments against the closed form, and a record's own figures against hand counts and scikit-learn."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from resinid import InputError, Record, default_reference
from resinid.cli.main import main
from resinid.record.checks import track_record
from resinid.record.entry import Answer, Check, Entry, Outcome
from resinid.record.instruments import FREEDOM, INSTRUMENTS, check_of, instruments, known_pieces, posterior_of
from resinid.record.picture import draw_reliability

if TYPE_CHECKING:
    from pathlib import Path

TABLE = default_reference()


@settings(max_examples=25, deadline=None)
@given(off=st.lists(st.floats(-5, 5), min_size=1, max_size=12), kind=st.sampled_from(sorted(INSTRUMENTS)))
def test_trials_on_what_is_known_give_the_normal_inverse_gamma(off: list[float], kind: str) -> None:
    """Law: without uncertainty of what is known, offset and spread are the closed form's (Gelman and others, Bayesian
    Data Analysis, 3rd ed. 2013, equations of section 3.3: mu_n, kappa_n, nu_n, sigma_n; from memory)."""
    usual = INSTRUMENTS[kind]
    shown = np.array(off) * usual.offset
    found = posterior_of([Check(kind, "", float(each), 0.0) for each in shown], usual, botched=0.0)
    count, k, nu = len(shown), (usual.spread / usual.offset) ** 2, FREEDOM
    s = usual.spread**2 * (nu - 2) + ((shown - shown.mean()) ** 2).sum() + k * count / (k + count) * shown.mean() ** 2
    variance = s / (nu + count - 2)
    mean, sd = count * shown.mean() / (k + count), np.sqrt(variance / (k + count))
    assert found[0] == pytest.approx(mean, abs=0.02 * sd)
    assert found[1] == pytest.approx(sd, rel=0.03)
    assert found[2] == pytest.approx(np.sqrt(variance), rel=0.03)
    # And that is the distribution of scipy's Student t for the offset.
    assert sd == pytest.approx(stats.t(nu + count, mean, np.sqrt(s / (nu + count) / (k + count))).std())


def test_a_botched_trial_moves_little_and_more_trials_say_more() -> None:
    right = [check_of("thermometer", f"{100 + each} degC", "98 degC") for each in (-0.4, 0.1, 0.3, -0.2, 0.5, 0.0)]
    fine, slipped = (instruments(each)[0] for each in (right, [*right, check_of("thermometer", "60 degC", "98 degC")]))
    assert fine.offset == pytest.approx(2.0, abs=0.2)
    assert slipped.offset == pytest.approx(fine.offset, abs=0.1)
    assert instruments(right * 4)[0].u_offset < fine.u_offset < instruments(right[:2])[0].u_offset
    assert 'u_thermometer = "' in fine.describe()
    with pytest.raises(InputError, match="none of thermometer, scale, jug"):
        check_of("ruler", "1 mm", "1 mm")


def test_pieces_of_known_resin_tell_of_the_thermometer() -> None:
    """Twenty pieces of PE-HD read 8 K above where the table has them (its rows of PE-HD): so does the thermometer."""
    rng, entries = np.random.default_rng(3), []
    for number in range(20):
        seen = {"test": "softening", "thermometer": "old", "temperature": f"{139 + rng.normal(0, 4):.1f} degC"}
        outcome = (Outcome("", "PE-HD"),)
        entries.append(Entry(number, "piece", "", evidence={"observation": [seen]}, outcomes=outcome))
    found = instruments(known_pieces(entries, TABLE))[0]
    assert (found.name, found.trials) == ("old", 20)
    assert 5.0 < found.offset < 10.0
    assert 0.5 < found.u_offset < 2.5
    assert known_pieces([Entry(1, "piece", "", outcomes=(Outcome("", "PVC-U"),))], TABLE) == []


def pieces(rows: list[tuple[str, float, str]]) -> list[Entry]:
    """Return entries by what was named, with which probability, and what was confirmed."""
    seen = {"observation": [{"test": "float", "liquid": "water", "outcome": "floats"}]}
    out = []
    for number, (said, chance, was) in enumerate(rows, start=1):
        other = "PS" if said != "PS" else "PP"
        ranking = [{"resin": name, "probability": p, "prior": 0.5} for name, p in ((said, chance), (other, 1 - chance))]
        told: dict[str, Any] = {"ranking": ranking, "heat": {"verdict": "NOT YET"}}
        out.append(Entry(number, "piece", "", evidence=seen, answers=(Answer("", "", "", told),),
                         outcomes=(Outcome("", was),)))  # fmt: skip
    return out


def test_figures_are_those_counted_by_hand() -> None:
    rows = [("PP", 0.95, "PP")] * 8 + [("PP", 0.95, "PE-HD")] * 2 + [("PE-HD", 0.65, "PE-HD")] * 5
    rows += [("PE-HD", 0.65, "PTFE")]
    found = track_record(pieces(rows), TABLE)
    assert (found.pieces, found.right.count) == (16, 13)
    assert [(round(at, 2), each.count, each.of) for at, each in found.bins] == [(0.65, 5, 6), (0.95, 8, 10)]
    expected = (10 * abs(0.95 - 0.8) + 6 * abs(0.65 - 5 / 6)) / 16
    assert found.error == pytest.approx(expected)
    assert found.low <= found.error <= found.high
    assert [(each.said, each.was, each.count) for each in found.confusions] == [
        ("PP", "PE-HD", 2),
        ("PE-HD", "PTFE", 1),
    ]
    assert all(each.test for each in found.confusions)
    # Of 8 right in 10 Jeffreys' interval is 0.49 to 0.95 (scipy's beta distribution).
    low, high = stats.beta(8.5, 2.5).ppf([0.025, 0.975])
    assert (found.bins[1][1].low, found.bins[1][1].high) == pytest.approx((low, high))
    # Nothing of PTFE floats: that test did not fit what was confirmed.
    assert [(each.what, each.count, each.of) for each in found.botched] == [("float", 1, 16)]
    assert {each.what: (each.count, each.of) for each in found.leave} == {
        "no leave: must not be heated": (1, 16), "no leave: may be heated, as it turned out": (15, 16),
    }  # fmt: skip


@settings(max_examples=15, deadline=None)
@given(rows=st.lists(st.tuples(st.floats(0.02, 1.0), st.booleans()), min_size=1, max_size=40))
def test_calibration_agrees_with_a_general_library(rows: list[tuple[float, bool]]) -> None:
    """Law: bins and shares right are those of scikit-learn's calibration curve of ten even bins."""
    from sklearn.calibration import calibration_curve

    from resinid.record.checks import _error, _share

    stated, right = np.array([chance for chance, _ in rows]), np.array([float(hit) for _, hit in rows])
    # scikit-learn counts the upper end of a bin to it, this package the lower one: ends are moved apart.
    stated = np.where(np.isclose(stated * 10 % 1, 0), np.clip(stated - 0.01, 0.01, 1), stated)
    shares, means = calibration_curve(right, stated, n_bins=10)
    counts = np.unique((stated * 10).astype(int), return_counts=True)[1]
    assert _error(stated, right) == pytest.approx(float((counts * abs(shares - means)).sum() / len(rows)))
    whole = _share("", right)
    assert whole.low <= right.mean() <= whole.high


def test_the_command_learns_and_checks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = str(tmp_path / "shop.sqlite")
    seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
    with Record(shop) as record:
        for index in range(12):
            record.identify(seen, piece=f"lid {index}", source="market")
            record.confirm(index + 1, "PP" if index else "PE-HD", "DSC")
        track = record.track_record()
    assert (track.pieces, track.right.of) == (12, 12)
    assert track.right.count + sum(each.count for each in track.confusions) == 12
    axes = draw_reliability(track)
    assert "12 pieces" in axes.get_title()
    for words, said in (
        (
            ["instrument", shop, "thermometer:oven", "--shows", "103 degC", "--is", "100 degC"],
            "thermometer oven: 1 trial;",
        ),
        (["learn", shop, "--source", "market"], "12 confirmed pieces of market"),
        (["review", shop], "12 pieces were confirmed"),
    ):
        assert main(["record", *words]) == 0
        assert said in capsys.readouterr().out
    assert main(["record", "learn", shop, "--json"]) == 0
    assert '"instruments": [' in capsys.readouterr().out
