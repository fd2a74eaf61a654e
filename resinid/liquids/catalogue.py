"""The test liquids this package knows, and how their names are looked up."""

from __future__ import annotations

from difflib import get_close_matches
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.errors import UnknownNameError, safe_repr
from resinid.liquids import ethanol, glycerol, isopropanol, salts, sucrose, water
from resinid.liquids._model import LiquidModel
from resinid.liquids.oils import OILS
from resinid.liquids.unclear import UNCLEAR

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.liquids.oils import Oil

__all__ = ["FLAMMABLE", "MODELS", "model", "oil_of", "reagent"]

FLAMMABLE: Final = (
    "Flammable: keep the bath and its vapour away from flames, sparks and the hot plate; cover it, "
    "for it grows denser as alcohol evaporates."
)
_WATER: Final = 18.015  # g/mol, molar mass of water, CRC Handbook 102nd ed., as are those below

_ALL: Final = (
    LiquidModel(
        name="water",
        aliases=("H2O", "distilled water", "tap water"),
        title="water",
        density=water.no_solute_density,
        uncertainty=water.no_solute_uncertainty,
        w_max=0.0,
        t_low=0.0,
        t_high=40.0,
        sources=water.SOURCES,
    ),
    LiquidModel(
        name="ethanol",
        aliases=("ethyl alcohol", "EtOH", "C2H5OH", "C2H6O"),
        title="ethanol and water",
        density=ethanol.ethanol_density,
        uncertainty=ethanol.ethanol_uncertainty,
        w_max=1.0,
        t_low=0.0,
        t_high=40.0,
        sources=ethanol.SOURCES,
        caution=FLAMMABLE,
    ),
    LiquidModel(
        name="isopropanol",
        aliases=("isopropyl alcohol", "IPA", "2-propanol", "propan-2-ol", "C3H8O"),
        title="isopropanol and water",
        density=isopropanol.isopropanol_density,
        uncertainty=isopropanol.isopropanol_uncertainty,
        w_max=1.0,
        t_low=5.0,
        t_high=40.0,
        sources=isopropanol.SOURCES,
        caution=FLAMMABLE,
    ),
    LiquidModel(
        name="NaCl",
        aliases=("sodium chloride", "table salt", "common salt", "salt", "brine"),
        title="common salt in water",
        density=salts.sodium_chloride_density,
        uncertainty=salts.sodium_chloride_uncertainty,
        w_max=0.267,
        t_low=0.0,
        t_high=40.0,
        sources=("crc_102_aqueous", "rogers_pitzer_1982", "salt_institute"),
        saturation=salts.sodium_chloride_saturation,
        caution="Rinse the chips afterwards: brine rusts tools and moulds.",
    ),
    LiquidModel(
        name="CaCl2",
        aliases=("calcium chloride",),
        title="calcium chloride in water",
        density=salts.calcium_chloride_density,
        uncertainty=salts.calcium_chloride_uncertainty,
        w_max=0.40,
        t_low=5.0,
        t_high=40.0,
        sources=("crc_102_aqueous", "laliberte_2009", "romek_04_26"),
        saturation=salts.calcium_chloride_saturation,
        hydrates=(
            ("CaCl2.2H2O", 110.984 / (110.984 + 2 * _WATER)),
            ("CaCl2.6H2O", 110.984 / (110.984 + 6 * _WATER)),
        ),
        # It draws water from the air, in the bag too: common practice, no source.
        u_reagent=0.04,
        caution=(
            "Gets hot while dissolving, in a strong bath near boiling, and then it spits: wear goggles and gloves, "
            "take a heat-proof vessel, no thin glass nor foam cup, add the salt little by little to cold water while "
            "stirring, never water to the salt, and let it cool before use. Corrodes metal."
        ),
    ),
    LiquidModel(
        name="K2CO3",
        aliases=("potassium carbonate", "potash"),
        title="potassium carbonate in water",
        density=salts.potassium_carbonate_density,
        uncertainty=salts.potassium_carbonate_uncertainty,
        w_max=0.50,
        t_low=5.0,
        t_high=40.0,
        sources=("crc_102_aqueous", "coolprop_8", "nark_database"),
        saturation=salts.potassium_carbonate_saturation,
        hydrates=(("K2CO3.1.5H2O", 138.206 / (138.206 + 1.5 * _WATER)),),
        u_reagent=0.04,
        caution=(
            "Strongly alkaline and warms while dissolving: goggles and gloves, no aluminium vessel; "
            "it attacks polyesters given time, so rinse the chips."
        ),
    ),
    LiquidModel(
        name="MgSO4",
        aliases=("magnesium sulfate", "magnesium sulphate"),
        title="magnesium sulfate in water",
        density=salts.magnesium_sulfate_density,
        uncertainty=salts.magnesium_sulfate_uncertainty,
        w_max=0.26,
        t_low=5.0,
        t_high=40.0,
        sources=("crc_102_aqueous", "laliberte_2009", "romek_04_26"),
        saturation=salts.magnesium_sulfate_saturation,
        hydrates=(("MgSO4.7H2O", 120.368 / (120.368 + 7 * _WATER)),),
        caution="Dissolves slowly: stir until no grain is left, then let bubbles rise.",
    ),
    LiquidModel(
        name="sucrose",
        aliases=("sugar", "table sugar", "cane sugar", "beet sugar", "C12H22O11"),
        title="sugar in water",
        density=sucrose.sucrose_density,
        uncertainty=sucrose.sucrose_uncertainty,
        w_max=0.70,
        t_low=0.0,
        t_high=40.0,
        sources=sucrose.SOURCES,
        saturation=sucrose.sucrose_saturation,
        caution="Thick above half sugar: bubbles cling and chips move slowly. Ferments within days.",
    ),
    LiquidModel(
        name="glycerol",
        aliases=("glycerine", "glycerin", "C3H8O3"),
        title="glycerol and water",
        density=glycerol.glycerol_density,
        uncertainty=glycerol.glycerol_uncertainty,
        w_max=1.0,
        t_low=10.0,
        t_high=35.0,
        sources=glycerol.SOURCES,
        caution="Thick: let bubbles rise and give a chip minutes to choose. Draws water from the air.",
    ),
)

MODELS: Final[Mapping[str, LiquidModel]] = MappingProxyType({entry.name: entry for entry in _ALL})
"""Every model by its name."""

# Trade names of hydrates that are no formula.
_HYDRATE_NAMES: Final = {
    "calcium chloride dihydrate": "CaCl2.2H2O",
    "calcium chloride hexahydrate": "CaCl2.6H2O",
    "epsom salt": "MgSO4.7H2O",
    "epsom salts": "MgSO4.7H2O",
    "magnesium sulfate heptahydrate": "MgSO4.7H2O",
    "magnesium sulphate heptahydrate": "MgSO4.7H2O",
    "potassium carbonate sesquihydrate": "K2CO3.1.5H2O",
}


def model(name: str) -> LiquidModel:
    """Return the model a name, formula or hydrate belongs to.

    Parameters
    ----------
    name : str
        Such as ``"NaCl"``, ``"table salt"``, ``"Epsom salt"``; case does not matter.

    Returns
    -------
    LiquidModel
        The liquid of that solute in water.

    Raises
    ------
    UnknownNameError
        If there is none, or the name is ambiguous; lists the names and close matches.

    Examples
    --------
    >>> model("Epsom salt").name
    'MgSO4'
    """
    return reagent(name)[0]


def reagent(name: str) -> tuple[LiquidModel, float]:
    """Return a model and the mass fraction of solute in the reagent of that name.

    Parameters
    ----------
    name : str
        As for :func:`model`.

    Returns
    -------
    Model, float
        The model; 1 for a pure reagent, less for a hydrate.

    Raises
    ------
    UnknownNameError
        As for :func:`model`.

    Examples
    --------
    >>> found, fraction = reagent("CaCl2.2H2O")
    >>> found.name, round(fraction, 3)
    ('CaCl2', 0.755)
    """
    if not isinstance(name, str):
        msg = f"{safe_repr(name)} is not the name of a liquid; known: {', '.join(MODELS)}"
        raise UnknownNameError(msg)
    key = _plain(name)
    if key in _BY_NAME:
        return _BY_NAME[key]
    if key in _OIL_NAMES:
        msg = f"{_OIL_NAMES[key].name!r} does not mix with water: it is taken as it is, without an amount or strength"
        raise UnknownNameError(msg)
    close = get_close_matches(key, [*_BY_NAME, *UNCLEAR, *_OIL_NAMES], n=3, cutoff=0.6)
    if close and close[0] in UNCLEAR:
        meant = f"{name.strip()!r}" if key in UNCLEAR else f"{name.strip()!r:.100}, if {close[0]} is meant,"
        msg = f"{meant} {UNCLEAR[close[0]]}"
        raise UnknownNameError(msg)
    close = [match for match in close if match not in UNCLEAR]
    hint = f" Did you mean {', '.join(repr(_SPELLING[match]) for match in close)}?" if close else ""
    msg = f"no liquid is named {name!r}.{hint} Known: {', '.join((*MODELS, *OILS))}"
    raise UnknownNameError(msg)


def oil_of(name: object) -> Oil | None:
    """Return the kitchen oil of that name; None where it is none.

    Examples
    --------
    >>> found = oil_of("Canola oil")
    >>> found.name if found else None
    'rapeseed oil'
    """
    return _OIL_NAMES.get(_plain(name)) if isinstance(name, str) else None


def _plain(name: str) -> str:
    """Return a name without case, outer and double spaces, and with one sign for the hydrate dot."""
    text = " ".join(name.casefold().split())
    return text.replace(" · ", ".").translate(str.maketrans("·•*₁₂₃₄₅₆₇₈₉₀", "...1234567890"))


def _names() -> dict[str, tuple[str, LiquidModel, float]]:
    """Return every spelling with its model and fraction, by plain name."""
    found: dict[str, tuple[str, LiquidModel, float]] = {}
    for entry in _ALL:
        for spelling in (entry.name, *entry.aliases):
            found[_plain(spelling)] = (spelling, entry, 1.0)
        hydrates = dict(entry.hydrates)
        for spelling, fraction in hydrates.items():
            found[_plain(spelling)] = (spelling, entry, fraction)
        for spelling, formula in _HYDRATE_NAMES.items():
            if formula in hydrates:
                found[_plain(spelling)] = (spelling, entry, hydrates[formula])
    return found


_NAMES: Final = _names()
_BY_NAME: Final = {key: (entry, fraction) for key, (_, entry, fraction) in _NAMES.items()}
_OIL_NAMES: Final = {_plain(spelling): oil for oil in OILS.values() for spelling in (oil.name, *oil.aliases)}
_SPELLING: Final = {key: spelling for key, (spelling, _, _) in _NAMES.items()} | {
    _plain(spelling): spelling for oil in OILS.values() for spelling in (oil.name, *oil.aliases)
}
