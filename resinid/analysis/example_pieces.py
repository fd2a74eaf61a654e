"""Invented pieces of everyday kinds, on which the weight of each row of the table is tried."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["PIECES", "Piece"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece and what was observed of it, as :func:`resinid.identify` takes it."""

    name: str
    observations: tuple[Mapping[str, object], ...]


def _float(liquid: str, outcome: str) -> dict[str, object]:
    return {"test": "float", "liquid": liquid, "outcome": outcome}


def _density(value: str) -> dict[str, object]:
    return {"test": "density", "density": value}


def _feel(outcome: str) -> dict[str, object]:
    return {"test": "feel", "outcome": outcome}


def _softening(value: str) -> dict[str, object]:
    return {"test": "softening", "temperature": value}


def _seen(test: str, outcome: str) -> dict[str, object]:
    return {"test": test, "outcome": outcome}


PIECES: Final = (
    Piece("milk bottle", (_float("water", "floats"), _float("ethanol 40 %v/v", "sinks"), _softening("130 ± 3 degC"))),
    Piece("black pipe end", (_density("0.957 ± 0.002 g/cm3"), _softening("128 ± 4 degC"), _seen("snap", "creases"))),
    Piece("squeeze bottle", (_density("0.921 ± 0.002 g/cm3"), _feel("flexible"), _softening("108 ± 4 degC"))),
    Piece("hinged lid", (_density("0.903 ± 0.003 g/cm3"), _softening("160 ± 4 degC"), _seen("whitening", "slight"))),
    Piece("garden chair", (_density("1.05 ± 0.01 g/cm3"), _feel("rigid"), _softening("163 ± 4 degC"))),
    Piece("clear cup", (_density("1.05 ± 0.01 g/cm3"), _seen("snap", "snaps"), _softening("95 ± 5 degC"))),
    Piece("yoghurt pot", (_density("1.05 ± 0.01 g/cm3"), _seen("whitening", "strong"), _seen("snap", "creases"))),
    Piece("toy brick", (_density("1.045 ± 0.01 g/cm3"), _softening("105 ± 5 degC"), _seen("snap", "springs back"))),
    Piece("water bottle", (_density("1.36 ± 0.01 g/cm3"), _softening("245 ± 5 degC"), _seen("whitening", "none"))),
    Piece("salad tray", (_density("1.335 ± 0.01 g/cm3"), _softening("80 ± 5 degC"), _seen("melt_clarity", "clear"))),
    Piece("grey pipe", (_density("1.43 ± 0.01 g/cm3"), _feel("rigid"))),
    Piece("clear guard", (_density("1.20 ± 0.01 g/cm3"), _feel("rigid"), _seen("snap", "springs back"))),
    Piece("gear wheel", (_density("1.14 ± 0.01 g/cm3"), _softening("220 ± 5 degC"))),
    Piece("white roller", (_density("1.41 ± 0.01 g/cm3"), _softening("168 ± 4 degC"), _feel("rigid"))),
    Piece("printed bracket", (_density("1.24 ± 0.01 g/cm3"), _softening("65 ± 5 degC"), _seen("snap", "snaps"))),
    Piece(
        "pan handle",
        (_density("1.40 ± 0.02 g/cm3"), {"test": "charring", "heated_to": "280 ± 5 degC", "seen": "charred"}),
    ),
)
"""Sixteen invented pieces; none was measured."""
