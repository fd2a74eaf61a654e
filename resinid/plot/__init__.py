"""Figures; need the extra ``resinid[plot]``, loaded only when one is drawn.

Each draws on a new figure, or on the matplotlib axes given last as ``ax``, and returns the axes.
"""

from __future__ import annotations

from importlib import import_module
from types import MappingProxyType

TYPE_CHECKING = False

if TYPE_CHECKING:
    from resinid.plot.bags import draw_composition, draw_pairs
    from resinid.plot.heating import draw_heating
    from resinid.plot.mixtures import draw_mixture
    from resinid.plot.mixtures import mixtures as draw_mixtures
    from resinid.plot.moves import draw_moves
    from resinid.plot.next_bath import draw_bath_information
    from resinid.plot.piece_plots import draw_probabilities, draw_standing
    from resinid.plot.property_map import draw_property_map
    from resinid.plot.slab import draw_slab

__all__ = [
    "draw_bath_information",
    "draw_composition",
    "draw_heating",
    "draw_mixture",
    "draw_mixtures",
    "draw_moves",
    "draw_pairs",
    "draw_probabilities",
    "draw_property_map",
    "draw_slab",
    "draw_standing",
]

_WHERE = MappingProxyType(
    {
        "draw_bath_information": "next_bath",
        "draw_composition": "bags",
        "draw_heating": "heating",
        "draw_mixture": "mixtures",
        "draw_mixtures": "mixtures",
        "draw_moves": "moves",
        "draw_pairs": "bags",
        "draw_probabilities": "piece_plots",
        "draw_property_map": "property_map",
        "draw_slab": "slab",
        "draw_standing": "piece_plots",
    }
)
"""Where the pictures are, each loaded when it is first used."""


def __dir__() -> list[str]:
    """Return the names of the pictures."""
    return __all__


if not TYPE_CHECKING:  # so that a type checker refuses a misspelt name

    def __getattr__(name: str) -> object:
        """Load a picture on first use."""
        if name not in _WHERE:
            message = f"module {__name__!r} has no attribute {name!r}"
            raise AttributeError(message)
        return getattr(import_module(f"{__name__}.{_WHERE[name]}"), {"draw_mixtures": "mixtures"}.get(name, name))
