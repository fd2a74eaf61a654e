"""Article: what kind of thing a piece is from, and how it was made.

The chances are those of an article given the resin. A share that a publication prints is
put down as the nearest of the behaviour table's words by ratio: from 0.88 always, from
0.57 usual, from 0.2 sometimes, from 0.045 rare, else never. Most rows are common practice:
statistics of use are published by sector, not by article. Shares are of mass sold, not of
pieces found, one more reason why these tests tell little and are often wrong.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.methods.contract import Method
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import CategoricalProperty, Dependence

if TYPE_CHECKING:
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent

__all__ = ["FOAMS", "METHOD", "ArticleKind", "Process"]

MINUTES: Final = 0.5
"""[min] To look (common practice, no source)."""

THIN: Final = (
    "A film or bag is limp whatever it is of: leave out how a strip feels or bends, which is asked of solid parts "
    "2 mm thick or more."
)
"""Bending stiffness goes with the cube of the thickness, so that a film's tells of that and not of the resin."""

FOAMS: Final = frozenset({"foam packaging", "foam sheet or cushion", "foamed"})
"""Outcomes that only foam shows."""

FOAM_SEEN: Final = 0.9
NOT_FOAM: Final = 0.02
"""Chance that a piece of a foamed variant that fits a word is called foam, and that a solid one is
(common practice, no source)."""

OTHER: Final = "other"

UNRECOGNISED: Final = 0.3
"""Share of pieces that fit no word, offcuts and fragments most of them; taken as the same for
every resin, so that it is no evidence (common practice, no source)."""

FOLDER: Final = Path(__file__).parent


class OfVariants(CategoricalProperty):
    """An aspect whose foam outcomes belong to the foamed variants of a resin.

    Foam is light, and how light is known by variant; so is whether a piece may be foam
    packaging. With this the two agree variant by variant and need no dependence.
    """

    __slots__ = ()

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of each outcome for each variant."""
        plain = CategoricalProperty.latent(self, reference)
        foam = np.array([outcome in FOAMS for outcome in self.outcomes])
        other = np.array([outcome == OTHER for outcome in self.outcomes])
        mass = np.where(other, 0.0, plain.mass)
        for row, variant in enumerate(reference.variants):
            if plain.stated[row]:
                share = FOAM_SEEN if variant.filler == "gas" else NOT_FOAM
                mass[row, foam] *= share / mass[row, foam].sum()
                mass[row, ~foam] *= (1.0 - share) / mass[row, ~foam].sum()
        mass *= (1.0 - UNRECOGNISED * other.sum()) / mass.sum(axis=1, keepdims=True)
        mass[:, other] = UNRECOGNISED
        mass.flags.writeable = False
        return replace(plain, mass=mass)


ARTICLE: Final = OfVariants(
    "article",
    (
        *("drinks bottle", "milk or detergent bottle", "screw cap", "film or bag", "tray or cup"),
        *("foam packaging", "foam sheet or cushion", "pipe", "window or building profile", "crate or canister"),
        *("toy or household ware", "housing", "vehicle part", "lens or glazing", "gear or bearing"),
        *("rope or fibre", "hose or gasket", "cable sheath or flooring", "connector or switch"),
        *("tableware or handle", "disposable cutlery or case", "laminate or casting", OTHER),
    ),
    folder=FOLDER,
    depends=(
        Dependence("flexural_modulus", 0.2, "soft grades go into hoses, stiff ones into pipes (common practice)"),
        Dependence("transparency", 0.3, "clear grades go into bottles, lenses and cases (common practice)"),
    ),
)

PROCESS: Final = OfVariants(
    "process",
    (
        *("injection moulded", "blow moulded", "film", "extruded"),
        *("thermoformed", "foamed", "cast or pressed", "fibre"),
    ),
    folder=FOLDER,
    depends=(
        Dependence("article", 0.8, "an article is made in one way, or few (common practice)"),
        Dependence("flexural_modulus", 0.2, "as for the article"),
    ),
)


@word_test(
    ARTICLE,
    "say what kind of article the piece is from",
    (
        "Say what the piece was part of, by what it looks like, not by what it might be made of.",
        "If two words fit take the narrower; if none fits take other. " + THIN,
    ),
    minutes=MINUTES,
)
class ArticleKind(WordTest):
    """What kind of article the piece is from; where no word fits, ``other``, which is no evidence.

    Of a film or bag no ``feel`` and no bend is recorded: any film is limp.
    """

    clears_heating: ClassVar[bool] = False


@word_test(
    PROCESS,
    "look for the traces of how the piece was made",
    (
        "Gate point, ribs and ejector marks: injected; pinched seam on a hollow piece: blown; die lines: extruded.",
        "Thin at the corners and no rib: thermoformed; cells at a cut: foamed; flash all round: cast or pressed. "
        + THIN,
    ),
    minutes=MINUTES,
)
class Process(WordTest):
    """How the piece was made."""

    clears_heating: ClassVar[bool] = False


METHOD: Final = Method(
    name="article",
    version="2",
    summary="What kind of article a piece is from, and how it was made.",
    caution="",
    sources=("the rows of behaviour.csv", "common practice for what is never met with"),
    tests=(ArticleKind, Process),
)
"""The method as the registry lists it."""
