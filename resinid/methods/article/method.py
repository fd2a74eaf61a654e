"""Article: what kind of thing a piece is from, and how it was made.

The chances are those of an article given the resin. A share that a publication prints is
put down as the nearest of the behaviour table's words by ratio: from 0.88 always, from
0.57 usual, from 0.2 sometimes, from 0.045 rare, else never. Most rows are common practice:
statistics of use are published by sector, not by article. Shares are of mass sold, not of
pieces found, one more reason why these tests tell little and are often wrong.

Housings of electronics are flame-retarded far more often than toys or tubs of the same resin:
how often each is, is stated here, so that the resin's own row stays as it is.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.methods.contract import Method
from resinid.methods.shapes import FLAT_FACE, LONG_STRIP, SHAPES, SOLID_WALL, THICK_STRIP
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import CategoricalProperty, Dependence

if TYPE_CHECKING:
    from resinid.arrays import Array
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent


__all__ = ["FOAMS", "METHOD", "ArticleKind", "Process"]

MINUTES: Final = 0.5
"""[min] To look (common practice, no source)."""

THIN: Final = "A film or bag is limp whatever it is of: how it feels is not counted."
"""Bending stiffness goes with the cube of the thickness, so that a film's tells of that and not of the resin."""

LACKS: Final = MappingProxyType(
    {
        **dict.fromkeys(("film or bag", "rope or fibre"), tuple(SHAPES)),
        **dict.fromkeys(("foam packaging", "foam sheet or cushion"), (SOLID_WALL, FLAT_FACE)),
        **dict.fromkeys(("screw cap", "connector or switch"), (THICK_STRIP, LONG_STRIP, FLAT_FACE)),
        **dict.fromkeys(("drinks bottle", "tray or cup", "milk or detergent bottle"), (FLAT_FACE,)),
        "gear or bearing": (LONG_STRIP,),
    }
)
MADE_WITHOUT: Final = MappingProxyType(
    {**dict.fromkeys(("film", "fibre"), tuple(SHAPES)), "foamed": (SOLID_WALL, FLAT_FACE), "thermoformed": (FLAT_FACE,)}
)
"""Shapes that articles, and pieces made in some way, do not have (common practice, no source)."""

FOAMS: Final = frozenset({"foam packaging", "foam sheet or cushion", "foamed"})
"""Outcomes that only foam shows."""

FOAM_SEEN: Final = 0.9
NOT_FOAM: Final = 0.02
"""Chance that a piece of a foamed variant that fits a word is called foam, and that a solid one is
(common practice, no source)."""

PRINTS: Final = frozenset({"printed object", "3D printed"})
"""Outcomes that only printing from filament or powder shows."""

PRINTED: Final = MappingProxyType(
    {"PLA": 0.7, "PETG": 0.3, "ASA": 0.3, "PA12": 0.1, "TPU": 0.1, "ABS": 0.03, "PA6": 0.02, "PC": 0.02}
)
NOT_PRINTED: Final = 0.0005
"""Share of a resin's solid pieces that were printed, and that of all others taken for printed (common practice, no
source: the resins that filament and powder are sold of). Foamed and flame-retarded variants are among the others."""

RETARDED: Final = "flame-retarded"
"""Variant that holds a flame retardant."""

RETARDED_AMONG: Final = MappingProxyType(
    {
        "housing": 0.5,
        **dict.fromkeys(
            (
                *("toy or household ware", "tray or cup", "screw cap", "drinks bottle", "milk or detergent bottle"),
                *("crate or canister", "tableware or handle", "disposable cutlery or case"),
            ),
            0.02,
        ),
    }
)
"""Share of such articles, of a resin with flame-retarded grades, that is flame-retarded: 49 % of housings of flat
television sets (Peeters and others 2014, abstract) and 61 % of the casings of older ones (Sindiku and others 2015,
abstract), but of all housings fewer, for tools and kitchen ware are housings too; in what needs none, 2 % (common
practice, no source). Of all others it is what is left of the variant's weight."""

LEFT: Final = (0.02, 0.9)
"""Bounds of the share among all other articles, should those stated and the variant's weight not agree."""

OTHER: Final = "other"

UNRECOGNISED: Final = 0.3
"""Share of pieces that fit no word, offcuts and fragments most of them; taken as the same for
every resin, so that it is no evidence (common practice, no source)."""

FOLDER: Final = Path(__file__).parent


class OfVariants(CategoricalProperty):
    """An aspect whose outcomes tell variants of a resin apart, foamed and flame-retarded ones, and what is printed.

    Foam is light, and how light is known by variant; so is whether a piece may be foam
    packaging. With this the two agree variant by variant and need no dependence.
    """

    __slots__ = ()

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of each outcome for each variant."""
        plain = CategoricalProperty.latent(self, reference)
        foam = np.array([outcome in FOAMS for outcome in self.outcomes])
        prints = np.array([outcome in PRINTS for outcome in self.outcomes])
        solid = ~(foam | prints)
        other = np.array([outcome == OTHER for outcome in self.outcomes])
        mass = np.where(other, 0.0, plain.mass)
        mass *= self._retarded(reference, mass)
        for row, variant in enumerate(reference.variants):
            if plain.stated[row]:
                share = FOAM_SEEN if variant.filler == "gas" else NOT_FOAM
                never = variant.filler == "gas" or variant.name == RETARDED
                printed = NOT_PRINTED if never else PRINTED.get(variant.resin, NOT_PRINTED)
                of_kinds = (foam, share), (prints, (1.0 - share) * printed), (solid, (1.0 - share) * (1.0 - printed))
                for kind, of_kind in of_kinds:
                    mass[row, kind] *= of_kind / mass[row, kind].sum()
        mass *= (1.0 - UNRECOGNISED * other.sum()) / mass.sum(axis=1, keepdims=True)
        mass[:, other] = UNRECOGNISED
        mass.flags.writeable = False
        return replace(plain, mass=mass)

    def _retarded(self, reference: ReferenceTable, mass: Array) -> Array:
        """Return by what each chance is multiplied so that of each article the stated share is flame-retarded."""
        out = np.ones_like(mass)
        for row, variant in enumerate(reference.variants):
            if variant.name != RETARDED or not RETARDED_AMONG.keys() & set(self.outcomes):
                continue
            chance = mass[row] / mass[row].sum()
            share = np.array([RETARDED_AMONG.get(outcome, np.nan) for outcome in self.outcomes])
            rest = np.isnan(share)
            left = variant.weight - chance[~rest] @ share[~rest]
            share[rest] = np.clip(left / chance[rest].sum(), *LEFT)
            for each, other in enumerate(reference.variants):
                if other.resin == variant.resin:
                    out[each] = share if other.name == RETARDED else 1.0 - share
        return out


ARTICLE: Final = OfVariants(
    "article",
    (
        *("drinks bottle", "milk or detergent bottle", "screw cap", "film or bag", "tray or cup"),
        *("foam packaging", "foam sheet or cushion", "pipe", "window or building profile", "crate or canister"),
        *("toy or household ware", "housing", "vehicle part", "lens or glazing", "gear or bearing"),
        *("rope or fibre", "hose or gasket", "cable sheath or flooring", "connector or switch"),
        *("tableware or handle", "disposable cutlery or case", "laminate or casting", "printed object", OTHER),
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
        *("thermoformed", "foamed", "cast or pressed", "fibre", "3D printed"),
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
    lacks=LACKS,
)
class ArticleKind(WordTest):
    """What kind of article the piece is from; where no word fits, ``other``, which is no evidence.

    Of a film or bag ``feel`` is not counted: any film is limp.
    """

    clears_heating: ClassVar[bool] = False


@word_test(
    PROCESS,
    "look for the traces of how the piece was made",
    (
        "Gate point, ribs and ejector marks: injected; pinched seam on a hollow piece: blown; die lines: extruded.",
        "Thin at the corners, no rib: thermoformed; cells at a cut: foamed; flash all round: cast or pressed; "
        "even threads in layers: 3D printed. " + THIN,
    ),
    minutes=MINUTES,
    lacks=MADE_WITHOUT,
)
class Process(WordTest):
    """How the piece was made."""

    clears_heating: ClassVar[bool] = False


METHOD: Final = Method(
    name="article",
    version="3",
    summary="What kind of article a piece is from, and how it was made.",
    caution="",
    sources=(
        "the rows of behaviour.csv",
        "peeters-2014 and sindiku-2015, how many housings are flame-retarded (abstracts)",
        "common practice for what is never met with",
    ),
    tests=(ArticleKind, Process),
)
