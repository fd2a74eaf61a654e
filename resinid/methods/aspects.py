"""What tests of a qualitative aspect have in common: an outcome out of a closed list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

import numpy as np

from resinid.methods.outlier import outlier_chance
from resinid.methods.test_plan import TestPlan
from resinid.quantities import ASPECTS
from resinid.scoring.properties import CategoricalProperty, Observable, property_name
from resinid.scoring.term import Term

if TYPE_CHECKING:
    from resinid.arrays import Array


__all__ = ["AspectSeen"]


@dataclass(frozen=True, slots=True)
class AspectSeen:
    """Base of the tests whose outcome is one word; each declares its own ``outcome``."""

    test: ClassVar[str]
    observes: ClassVar[Observable]
    outlier: ClassVar[float] = outlier_chance(2)
    """Chance that the behaviour is done or judged wrongly altogether."""

    outcome: str

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return one where the piece truly behaves as was seen, else zero."""
        seen: Array = np.where(values == self.words().index(self.outcome), 1.0, 0.0)
        return seen

    def term(self) -> Term:
        """Return the likelihood for the engine; a misjudged outcome may be any."""
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / len(self.words()),
        )

    def describe(self) -> str:
        """Return the outcome."""
        return f"{property_name(self.observes).replace('_', ' ')}: {self.outcome}"

    @classmethod
    def words(cls) -> tuple[str, ...]:
        """Return all that may be seen."""
        return (
            ASPECTS[cls.observes]
            if isinstance(cls.observes, str)
            else cast("CategoricalProperty", cls.observes).outcomes
        )

    @classmethod
    def plan(
        cls,
        label: str,
        minutes: float,
        steps: tuple[str, str],
        *,
        needs: tuple[str, ...],
        caution: str,
        hazard: str = "",
        needs_shape: tuple[str, ...] = (),
    ) -> TestPlan:
        """Return the plan to look for this aspect, with all its outcomes."""
        outcomes = tuple(cls(outcome) for outcome in cls.words())
        return TestPlan(
            cls.test,
            label,
            outcomes,
            minutes,
            steps,
            needs=needs,
            caution=caution,
            hazard=hazard,
            needs_shape=needs_shape,
        )
