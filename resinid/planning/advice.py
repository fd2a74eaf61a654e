"""The advice on what to do next, as frozen values."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from resinid.io.build import unbuild
from resinid.notebook import Answer

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from resinid.identification.result import Result
    from resinid.methods.test_plan import TestPlan

__all__ = ["Advice", "Foreseen", "Suggestion"]


@dataclass(frozen=True, slots=True)
class Foreseen:
    """One outcome a test may have, and what it would make of the answer.

    Parameters
    ----------
    says : str
        The outcome; readings that would give the same answer are one.
    probability : float
        Chance of it.
    answer : str
        What would then be the most probable answer.
    then : float
        Its probability then.
    """

    says: str
    probability: float
    answer: str
    then: float


@dataclass(frozen=True, slots=True)
class Suggestion(Answer):
    """A test that could be done next.

    Parameters
    ----------
    plan : TestPlan
        What to do.
    bits : float
        Expected information about the question [bit].
    settles : float
        Chance that this one test settles the question.
    outcomes : tuple of Foreseen
        What may be seen, most probable first.
    """

    plan: TestPlan
    bits: float
    settles: float
    outcomes: tuple[Foreseen, ...]

    def __repr__(self) -> str:
        return f"<Suggestion to {self.plan.label}: {self.bits:.2f} bits in {self.plan.minutes:g} min>"

    @property
    def bits_per_minute(self) -> float:
        """Expected information per minute of bench effort [bit/min]."""
        return self.bits / self.plan.minutes

    def to_dict(self) -> dict[str, Any]:
        """Return the suggestion as JSON types; ``enter`` holds the observations it may become."""
        plan = self.plan
        out: dict[str, Any] = {
            "test": plan.test,
            "label": plan.label,
            "bits": self.bits,
            "minutes": plan.minutes,
            "bits_per_minute": self.bits_per_minute,
            "settles": self.settles,
            "needs": list(plan.needs),
            "steps": list(plan.steps),
            "caution": plan.caution,
            "hazard": plan.hazard,
            "asks": list(plan.asks),
            "outcomes": [asdict(seen) for seen in self.outcomes],
        }
        if plan.recipe is not None:
            out["mix"] = [part.to_dict() for part in plan.recipe.parts]
        if not plan.asks:
            out["enter"] = [{"test": plan.test, **unbuild(outcome)} for outcome in plan.outcomes]
        return out


@dataclass(frozen=True, slots=True)
class Advice(Answer):
    """What to do next, or why to stop.

    Parameters
    ----------
    question : str
        What is asked.
    answers : tuple of (str, float)
        Answers with their probabilities, most probable first.
    suggestions : tuple of Suggestion
        Tests that can be offered, best first.
    verdict : {"go on", "settled", "cannot settle", "not worth it"}
        Whether more tests are worth it.
    reason : str
        Why, in a sentence.
    unknown : float
        Entropy of the answer: what is not known yet [bit].
    bits_left : float
        Most that all available tests together can tell on average [bit].
    settleable : float
        Chance that an answer would settle if every property the available tests look
        at were known exactly.
    withheld : tuple of (str, str)
        Tests not offered, for their danger, and why.
    result : Result
        What is known so far.
    held_back : tuple of Suggestion
        Tests among these that would come before the first one offered if their danger were allowed, best first.
    """

    question: str
    answers: tuple[tuple[str, float], ...]
    suggestions: tuple[Suggestion, ...]
    verdict: str
    reason: str
    unknown: float
    bits_left: float
    settleable: float
    withheld: tuple[tuple[str, str], ...]
    result: Result
    held_back: tuple[Suggestion, ...] = ()

    def __repr__(self) -> str:
        first = f"; first {self.suggestions[0].plan.label}" if self.suggestions else ""
        return f"<Advice on {self.question!r}: {self.verdict}, {self.reason}{first}>"

    @property
    def stop(self) -> bool:
        """Whether more tests are not worth it."""
        return self.verdict != "go on"

    @property
    def best(self) -> Suggestion | None:
        """The test to do next; None where none can be offered."""
        return self.suggestions[0] if self.suggestions else None

    def to_frame(self) -> pd.DataFrame:
        """Return the suggestions as a DataFrame, one row each, best first.

        Returns
        -------
        pandas.DataFrame
            Columns ``test``, ``label``, ``bits``, ``minutes``, ``bits_per_minute``, ``settles``, ``hazard``.
        """
        import pandas as pd

        columns: dict[str, Callable[[Suggestion], object]] = {
            "test": lambda found: found.plan.test,
            "label": lambda found: found.plan.label,
            "bits": lambda found: found.bits,
            "minutes": lambda found: found.plan.minutes,
            "bits_per_minute": lambda found: found.bits_per_minute,
            "settles": lambda found: found.settles,
            "hazard": lambda found: found.plan.hazard,
        }
        # By column, so that there are all seven where nothing is suggested.
        return pd.DataFrame({name: [of(found) for found in self.suggestions] for name, of in columns.items()})

    def to_dict(self) -> dict[str, Any]:
        """Return the whole advice as JSON types."""
        return {
            "question": self.question,
            "answers": dict(self.answers),
            "verdict": self.verdict,
            "reason": self.reason,
            "unknown_bits": self.unknown,
            "bits_left": self.bits_left,
            "settleable": self.settleable,
            "suggestions": [found.to_dict() for found in self.suggestions],
            "withheld": [{"test": label, "why": why} for label, why in self.withheld],
            "held_back": [
                {"label": each.plan.label, "allow": each.plan.hazard, "settles": each.settles, "bits": each.bits}
                for each in self.held_back
            ],
            "heat": self.result.to_dict()["heat"],
            "version": self.result.version,
            "reference_digest": self.result.reference_digest,
        }
