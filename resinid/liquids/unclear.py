"""Names that do not say what is in the bottle, each with what to write instead."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.liquids.oils import OILS

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["UNCLEAR"]

_MEASURE: Final = "measure its density with a hydrometer, or weigh a known volume, and state that"
_SALTY: Final = f"may hold any amount of salt: {_MEASURE}; or mix 'table salt 110 g/kg water'"
_SEA: Final = f"is denser than tap water by 0.01 to 0.03 g/cm3, as salty as the sea is there: {_MEASURE}"
_SPIRIT: Final = (
    "is ethanol with other liquids added, and burns: write 'ethanol' and the %v/v on the label if it holds ethanol and "
    f"water alone; otherwise {_MEASURE}, and keep it from flames as ethanol"
)
_NO_ALCOHOL: Final = "is a petroleum spirit, no alcohol: it burns and softens plastics; take ethanol or isopropanol"
_KITCHEN: Final = f"differs from bottle to bottle: {_MEASURE}"
_DRINK: Final = (
    "is ethanol and water where nothing else is in it, mostly of 40 %v/v: write 'ethanol 40 %v/v', or the strength on "
    "the label"
)
_SWEET: Final = f"holds sugar, which makes it denser: {_MEASURE}"
_WHICH_OIL: Final = f"may be of several plants: write {', '.join(map(repr, OILS))}, as the bottle says"
_OTHER_OIL: Final = f"is no oil whose density is known here: {_MEASURE}; or take sunflower or rapeseed oil"

UNCLEAR: Final[Mapping[str, str]] = {
    "alcohol": "may be two liquids: write 'ethanol' or 'isopropanol', as the bottle says",
    "rubbing alcohol": (
        "may be two liquids and is sold watered: write 'isopropanol 70 %v/v' or 'ethanol 70 %v/v', as the bottle says"
    ),
    **dict.fromkeys(("sea water", "seawater", "ocean water"), _SEA),
    **dict.fromkeys(("salt water", "saltwater", "salty water", "saline", "salt solution"), _SALTY),
    **dict.fromkeys(
        (
            *("denatured alcohol", "denatured ethanol", "methylated spirit", "methylated spirits", "meths", "spirit"),
            *("spirits", "surgical spirit", "bioethanol", "bio-ethanol", "hand sanitizer", "hand sanitiser"),
        ),
        _SPIRIT,
    ),
    **dict.fromkeys(("white spirit", "white spirits", "mineral spirits", "turpentine", "petrol"), _NO_ALCOHOL),
    **dict.fromkeys(("vodka", "clear spirit", "gin", "white rum", "grappa", "schnapps"), _DRINK),
    **dict.fromkeys(("liqueur", "brandy", "rum", "whisky", "whiskey", "wine", "beer"), _SWEET),
    **dict.fromkeys(
        ("oil", "cooking oil", "vegetable oil", "frying oil", "salad oil", "kitchen oil", "edible oil"), _WHICH_OIL
    ),
    **dict.fromkeys(
        (
            *("baby oil", "mineral oil", "paraffin oil", "engine oil", "motor oil", "silicone oil", "linseed oil"),
            *("palm oil", "coconut oil", "soybean oil", "soya oil", "peanut oil", "castor oil", "sesame oil"),
        ),
        _OTHER_OIL,
    ),
    **dict.fromkeys(("vinegar", "milk", "lemonade", "syrup"), _KITCHEN),
}
"""Names that do not say what is in the bottle; pure alcohol is lighter than a watered one by 0.1 g/cm3."""
