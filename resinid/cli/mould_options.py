"""The options that say what a workshop has: mould, heater, form of the stock."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from resinid.cli.options import with_unit

if TYPE_CHECKING:
    import argparse

__all__ = ["add_mould", "mould_of"]

QUANTITIES: Final = {
    "volume": "volume",
    "thickness": "length",
    "wall": "length",
    "depth": "length",
    "plate": "temperature",
}
"""Options that take a number in the unit that the help shows."""


def add_mould(parser: argparse.ArgumentParser) -> None:
    """Add the options of a melt plan to a command."""
    group = parser.add_argument_group("what a melt plan of a bag is made for")
    group.add_argument("--mould", metavar="SIZE", help="length x width x thickness of the slab, such as 600x400x10 mm")
    group.add_argument("--material", help="of the mould: aluminium, steel, plywood or wood (default: nothing round it)")
    group.add_argument("--wall", help="how thick it is between charge and heater [mm] (default: as usual)")
    group.add_argument("--depth", help="how deep the mould is [mm], for the number of fillings")
    group.add_argument("--heater", help="'two plates', 'one plate' or 'oven' (default: all three)")
    group.add_argument("--plate", help="temperature of plates or oven air [degC] (default: as cool as it flows)")
    group.add_argument("--charge", help="form of the stock: shred, pellets, film or solid (default shred)")
    group.add_argument("--volume", help="of the cold part instead of a mould [cm3] (default 250)")
    group.add_argument("--thickness", help="of the cold part, with --volume [mm] (default 20)")


def mould_of(chosen: argparse.Namespace) -> dict[str, Any]:
    """Return what was typed as :func:`resinid.melt_plan` takes it; bare numbers have the units of the help."""
    given = {name: getattr(chosen, name) for name in ("mould", "material", "heater", "charge", *QUANTITIES)}
    return {
        name: with_unit(value, QUANTITIES[name]) if name in QUANTITIES else value
        for name, value in given.items()
        if value is not None
    }
