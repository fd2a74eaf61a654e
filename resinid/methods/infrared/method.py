"""Infrared: band positions read off a spectrum, or the published spectrum it is most like.

Positions do not tell the kinds of polyethylene, the polyamides, or PET and PETG from each
other; those share one spectrum. Fillers and dirt add bands, black pieces give none.

In a film that light went through strong bands stand higher than in a spectrum reflected on a
crystal, by 13 1/cm in the carbonyl of PET and 25 in its ester band; say which it was.
Of PBT one weak band was read, so a film of it with few bands listed may look like PET.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.errors import Fault, safe_repr
from resinid.io.arguments import unplaced
from resinid.io.fields import choice, number, written_with
from resinid.methods.contract import Method
from resinid.methods.infrared.bands import HOW, RANGE
from resinid.methods.infrared.spectra import NOT_SAID, SPECTRUM, Spectrum, chances, names
from resinid.methods.outlier import outlier_chance
from resinid.methods.test_plan import TestPlan
from resinid.scoring.term import Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench

__all__ = ["METHOD", "Infrared", "SpectrumLike"]

OUTLIER: Final = outlier_chance(3)
"""Chance that the spectrum is of something else: a coating, the other layer of a laminate, dirt on
the crystal, another piece; or that it was misread."""

SURE: Final = 0.85
"""Chance that the most alike of the published spectra is the right one (common practice, no source)."""

MINUTES: Final = 5.0
"""[min] To clean, press and record (common practice, no source)."""

TOOL: Final = "infrared spectrometer"

FEWEST: Final = 2
MOST: Final = 60
_LONGEST: Final = 600
_UNIT: Final = re.compile(r"(?:1/cm|cm\s*\^?-1|cm[⁻−-]1|cm⁻¹)\s*$")


@dataclass(frozen=True, slots=True)
class _BandList:
    """A list of wavenumbers such as ``"2916, 2848, 1472 1/cm"``."""

    fewest: int = FEWEST

    def parse(self, value: object) -> tuple[float, ...]:
        if isinstance(value, (list, tuple)):
            value = ", ".join(each if isinstance(each, str) else safe_repr(each) for each in value)
        if not isinstance(value, str) or len(value) > _LONGEST:
            raise unplaced(f"{safe_repr(value, 80)} is no list of wavenumbers")
        words = [word for word in re.split(r"[,;\s]+", _UNIT.sub("", value.strip())) if word]
        try:
            found = tuple(sorted({float(word) for word in words}))
        except ValueError:
            raise unplaced(f"{safe_repr(value, 80)} is no list of wavenumbers; write {self.expects()}") from None
        low, high = RANGE
        if not all(low <= band <= high for band in found):
            raise unplaced(f"wavenumbers lie from {low:g} to {high:g} 1/cm; write {self.expects()}")
        if not self.fewest <= len(found) <= MOST:
            raise unplaced(f"names {len(found)} bands; expected {self.fewest} to {MOST}, for example {self.expects()}")
        return found

    def dump(self, value: tuple[float, ...]) -> object:
        return ", ".join(f"{band:.10g}" for band in value) + " 1/cm"

    def expects(self) -> str:
        return "'2916, 2848, 1472, 1462, 730, 717 1/cm'"


@dataclass(frozen=True, slots=True)
class Infrared:
    """The bands of an infrared spectrum were listed.

    Parameters
    ----------
    bands : tuple of float
        Positions of all bands seen [1/cm], two or more.
    strong : tuple of float, optional
        Those among them that are strong; not given, nothing is said of strength.
    low, high : float, optional
        Range that was looked at [1/cm]; where not given, 600 to 4000, as far as a diamond
        crystal and a common detector reach.
    how : {"not said", "reflected", "through"}, optional
        Whether the spectrum was reflected on a crystal, or light went through a film or a salt
        disc; not given, either, reflection three times as likely (common practice, no source).
    """

    test: ClassVar[str] = "infrared"
    clears_heating: ClassVar[bool] = False
    observes: ClassVar[Spectrum] = SPECTRUM

    bands: tuple[float, ...] = written_with(_BandList())
    strong: tuple[float, ...] = written_with(_BandList(1), ())
    low: float = number(*RANGE, 600.0)
    high: float = number(*RANGE, 4000.0)
    how: str = choice((NOT_SAID, *HOW), NOT_SAID)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if not set(self.strong) <= set(self.bands):
            yield Fault("strong", "names bands that are not among the bands")
        if self.low >= self.high:
            yield Fault("low", "is not below high")

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return how likely the list is from each spectrum, relative to the sum over all of them."""
        return chances(self.bands, self.strong, self.low, self.high, self.how)[values.astype(np.int64)]

    def term(self) -> Term:
        """Return the likelihood for the engine; a spectrum of something else may be any of them."""
        return Term(self.observes, self.likelihood, outlier=OUTLIER, outlier_likelihood=1.0 / len(names()))

    def describe(self) -> str:
        """Return the bands, the first of them where there are many."""
        safe_repr = ", ".join(f"{band:.0f}" for band in self.bands[::-1][:12])
        taken = {NOT_SAID: "", "reflected": ", reflected on a crystal", "through": ", light passed through"}[self.how]
        return f"bands at {safe_repr}{' and more' if len(self.bands) > 12 else ''} 1/cm{taken}"


@dataclass(frozen=True, slots=True)
class SpectrumLike:
    """The spectrum was compared with published ones: which it is most like, ``another`` if none."""

    test: ClassVar[str] = "spectrum"
    clears_heating: ClassVar[bool] = False
    observes: ClassVar[Spectrum] = SPECTRUM
    outcome: str = choice(names())

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the chance of calling it so, for each spectrum."""
        index = names().index(self.outcome)
        found: Array = np.where(values == index, SURE, (1.0 - SURE) / (len(names()) - 1))
        return found

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        return Term(self.observes, self.likelihood, outlier=OUTLIER, outlier_likelihood=1.0 / len(names()))

    def describe(self) -> str:
        """Return what it is like."""
        return f"infrared spectrum like {self.outcome}"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the measurement, if there is a spectrometer."""
        if TOOL in bench.tools:
            yield TestPlan(
                cls.test,
                "record an infrared spectrum of a clean cut and compare it with published ones",
                tuple(cls(name) for name in names()),
                MINUTES,
                (
                    "Cut off the surface; press the fresh face on the clean crystal after a background scan.",
                    "List the bands (test 'infrared', how: reflected), or say which published spectrum it is like.",
                ),
                needs=(TOOL,),
            )


METHOD: Final = Method(
    name="infrared",
    version="2",
    summary="Band positions of an infrared spectrum, or the published spectrum it is most like.",
    caution="",
    sources=(
        "zhang-2020",
        "tsuda-2018",
        "david-2022",
        "pet-2013",
        "pur-2017",
        "the rows of bands.csv, each with its own; jung-2018 and hummel-atlas where a position was recalled",
        "how lists are scored, and which bands are called strong: common practice, no source",
    ),
    tests=(Infrared, SpectrumLike),
    tools=(TOOL,),
)
