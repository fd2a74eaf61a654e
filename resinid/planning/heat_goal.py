"""The question "may it be heated": how likely one test brings a sure verdict, either way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.heating.evidence import clearing, forbidding
from resinid.heating.rule import SHOWN
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.planning.information import information

if TYPE_CHECKING:
    from resinid.arrays import Array
    from resinid.heating.verdict import Heat
    from resinid.identification.score import Setting
    from resinid.methods.test_plan import TestPlan
    from resinid.planning.piece_posterior import PiecePosterior
    from resinid.scoring.properties import Observable


__all__ = ["HeatGoal"]

TINY: Final = 1e-300


@dataclass(frozen=True, slots=True, eq=False)
class HeatGoal:
    """What a sure verdict on heating asks for.

    Parameters
    ----------
    setting : Setting
        By what the piece is judged.
    known : PiecePosterior
        By all that was observed.
    cleared : PiecePosterior or None
        By those observations alone that may clear a piece; None where that is all of them.
    heat : Heat
        The verdict so far.
    forbidden : tuple of str
        What was found that forbids heating, which no other test lifts.
    disputed : tuple of str or CategoricalProperty
        Properties of which two readings contradict each other: only a further one of the same gives leave.
    """

    setting: Setting
    known: PiecePosterior
    cleared: PiecePosterior | None
    heat: Heat
    forbidden: tuple[str, ...] = ()
    disputed: tuple[Observable, ...] = ()

    @property
    def settled(self) -> bool:
        """Whether the verdict is sure: it may be melted, or a warning stands, or the hazard is all but certain."""
        if self.heat.allowed or self.forbidden:
            return True
        base = float(self.known.by_kind(self.known.variants) @ self.setting.rule.temperatures.barred)
        return self.heat.verdict == DO_NOT_HEAT and base >= 1.0 - self.setting.limit

    @property
    def reason(self) -> str:
        """Why the verdict is sure, where it is."""
        if self.heat.allowed:
            return f"it may be melted {self.heat.range}, with the cautions named"
        if self.forbidden:
            return f"{self.forbidden[0]}; no other test lifts that"
        return "that it must not be heated is all but certain"

    def chance(self, plan: TestPlan, chances: Array) -> float:
        """Return the chance that a test brings a sure verdict, nearly.

        It is worked out by all evidence and by the tests that may clear a piece; the verdict itself also looks at
        each of the other tests beside those, and at readings that come to contradict each other.

        Parameters
        ----------
        plan : TestPlan
        chances : numpy.ndarray
            Chance of each outcome for each variant, as :meth:`PiecePosterior.chances` gives it.
        """
        rule, prior, limit = self.setting.rule, self.setting.prior, self.setting.limit
        joint = self.known.by_kind(chances * self.known.variants)
        outcome = joint.sum(axis=1)
        after = joint / np.maximum(outcome, TINY)[:, None]
        fits = rule.fits(after, limit, prior=prior)
        clears = clearing(type(plan.outcomes[0]), self.setting.trusted)
        if self.cleared is not None or not clears:
            # By what may clear it, too: a mark or an article may move the name, but clears nothing.
            known = self.cleared or self.known
            alone = known.by_kind((known.chances(plan) if clears else np.ones_like(chances)) * known.variants)
            fits &= rule.fits(alone / np.maximum(alone.sum(axis=1), TINY)[:, None], limit, prior=prior)
        if self.disputed and plan.observes not in self.disputed:
            fits[:] = False
        forbids = np.array([bool(forbidding([each])) for each in plan.outcomes])
        hazard = after @ rule.temperatures.barred
        # An outcome that forbids by itself settles nothing where it would more likely than not be a false alarm.
        sure = np.where(forbids, hazard >= SHOWN, fits.any(axis=1)) | (hazard >= 1.0 - limit)
        return float(outcome @ sure)

    def bits(self, chances: Array) -> float:
        """Return what a test is expected to tell of whether the piece must not be heated [bit], by the cautious prior.

        Parameters
        ----------
        chances : numpy.ndarray
            As for :meth:`chance`.
        """
        rule = self.setting.rule
        now = self.known.by_kind(self.known.variants)
        share = rule.reweighed(now, self.setting.prior) / np.maximum(now, TINY)
        joint = self.known.by_kind(chances * self.known.variants) * share
        barred = joint @ rule.temperatures.barred
        return max(float(information(np.stack([barred, joint.sum(axis=1) - barred], axis=1))), 0.0)

    def reachable(self, after: Array) -> float:
        """Return the share of pieces for which a verdict would be sure, from posteriors by variant."""
        by_kind = self.known.by_kind(after)
        fits = self.setting.rule.fits(by_kind, self.setting.limit, prior=self.setting.prior).any(axis=1)
        return float((fits | (by_kind @ self.setting.rule.temperatures.barred >= 1.0 - self.setting.limit)).mean())
