"""The work in its order, from sorting to the trial tile: common practice in plain words, with its cautions."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.melting.charge import ALLOWANCE
from resinid.melting.hot_time import LONGEST_ANY
from resinid.melting.steps import Stage

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.ranges import Ends
    from resinid.melting.given import Given
    from resinid.melting.steps import Cooling, Heating

__all__ = ["PRESSURE", "TILE", "drying_words", "order_of", "pressure_of", "release_of"]

WET: Final = frozenset({
    "PET", "PBT", "PETG", "PLA", "PHB", "PC", "PC+ABS", "ABS", "ASA", "SAN",
    "PA6", "PA66", "PA12", "PMMA", "TPU", "CA", "POM",
})  # fmt: skip
"""Resins that take up water enough to spoil a melt or their own chains (common practice, no source)."""

PRESSURE: Final = MappingProxyType({"stiff": 0.4, "doughy": 0.2, "runny": 0.1})
"""[MPa] On the slab by how the melt flows; 0.2 MPa on 1000 x 500 mm are 10 t (common practice, no source)."""

PAPER: Final = 220.0
"""[degC] That baking paper is sold for (common practice, no source)."""

CLOTH: Final = 260.0
"""[degC] That glass cloth coated with fluoropolymer is sold for; hotter it fumes (common practice, no source)."""

TILE: Final = (100.0, 100.0, 5.0)
"""[mm] Of a trial tile (common practice, no source)."""

HOT_WOOD: Final = 100.0
"""[degC] From which a wooden mould dries out, darkens and needs watching (common practice, no source)."""


def pressure_of(stiffness: str) -> float:
    """Return the pressure [MPa] to press a melt with, by the word for how it flows."""
    return next((value for word, value in PRESSURE.items() if word in stiffness), PRESSURE["doughy"])


def release_of(hottest: float) -> str:
    """Return what keeps a melt from sticking to a mould that is as hot as this [degC]."""
    if hottest <= PAPER:
        return "baking paper or a fluoropolymer-coated cloth on every face"
    if hottest <= CLOTH:
        return "fluoropolymer-coated glass cloth on every face, never above 260 °C; baking paper would scorch"
    return "polished metal with a release wax made for that heat; coated cloth gives off fume above 260 °C"


def drying_words(resins: Sequence[str], drying: tuple[Ends, Ends] | None) -> str:
    """Return how dry the stock must be."""
    wet = [resin for resin in resins if resin in WET]
    if not wet:
        return "dry to the touch is enough"
    if drying is None:
        return f"{', '.join(wet)}: dry it well; no temperature is published in the table"
    hot, hours = drying
    return f"at {_span(hot)} °C for {_span(hours)} h, for {', '.join(wet)}"


def _span(ends: Ends) -> str:
    low, high = f"{ends.low:.3g}", f"{ends.high:.3g}"
    return low if low == high else f"{low} to {high}"


def order_of(
    resins: Mapping[str, float],
    *,
    given: Given,
    heating: Sequence[Heating],
    cooling: Sequence[Cooling],
    window: Ends,
    through: float,
    opened: float,
    bears: tuple[float, str],
    drying: tuple[Ends, Ends] | None,
    density: float,
    stock: Sequence[str],
) -> tuple[Stage, ...]:
    """Return the stages of the work.

    Parameters
    ----------
    resins : mapping of str to float
        That shape the plan, with their shares.
    given, heating, cooling, window, through, opened, bears, drying
        As :class:`resinid.melting.steps.Steps` has them.
    density : float
        Of the cold mix [kg/m3].
    stock : sequence of str
        What of the stock to beware of.
    """
    plate = heating[0].source
    slow, longest = cooling[1].minutes or 0.0, min(bears[0], LONGEST_ANY)
    tile = TILE[0] * TILE[1] * TILE[2] / 1e6 * density * (1.0 + ALLOWANCE)
    return (
        Stage(
            "sort and wash",
            (
                "cut off labels and shrink sleeves (often PVC), paper, foil, springs, metal and foam liners",
                "leave what held oil, fuel or poison: it does not wash out and fumes",
                "wash, rinse, and write down how often it was melted before; each melting takes strength",
                *stock,
            ),
        ),
        Stage("dry", (drying_words(list(resins), drying),)),
        Stage(
            "fill",
            (
                f"line the mould: {release_of(plate)}",
                "shred to 5 to 10 mm; fill in even layers, corners first, and leave gaps for air and steam to escape",
                f"the grams have {100 * ALLOWANCE:.0f} % added for flash and what sticks",
            ),
        ),
        Stage(
            "heat",
            (
                "extraction that leads outdoors is on before it is warm; stop at the first sharp smell or smoke",
                f"rise to {plate:.0f} °C, never above {window.high:.0f} °C, by a thermometer in the charge's middle",
                f"done when the middle is at {through:.0f} °C; out after {longest:.0f} min hot, done or not",
                "somebody stays with it; a lid or fire blanket is at hand, and water only for burns",
                *_wood(given, plate),
            ),
        ),
        Stage(
            "press",
            (
                "close it slowly and open it once for air and steam; then press up little by little as it sinks",
                "stand to the side: a melt under load squirts, and wet stock spits",
                "long sleeves, heat-proof gloves, a face shield; cool a burn under water and do not peel",
            ),
        ),
        Stage(
            "cool under load",
            (
                f"keep the load on until the middle is below {opened:.0f} °C, and press on as it shrinks",
                f"slowly cooled it warps least; in the press that is switched off that is {slow:.0f} min",
            ),
        ),
        Stage("open and trim", ("trim flash with a knife while warm, or saw it cold; catch the dust and swarf",)),
        Stage(
            "trial tile first",
            (
                f"{TILE[0]:.0f} x {TILE[1]:.0f} x {TILE[2]:.0f} mm, {tile:.0f} g, of the same mix at the same heat",
                (
                    "it passes if: no sharp smell, no smoke, not browned; no bubbles in a sawn edge; no layers when a "
                    "strip of 10 mm is bent to and fro or broken; it does not shatter dropped on stone from 1 m; flat "
                    "within 1 mm; thick within a twentieth all over"
                ),
                "if it fails: browned, cooler or shorter; bubbles, drier or more load; layers, do not make it",
            ),
        ),
    )


def _wood(given: Given, plate: float) -> tuple[str, ...]:
    if given.material not in {"plywood", "wood"} or plate < HOT_WOOD:
        return ()
    return (
        (
            "a wooden mould: dry it beforehand, for it steams, cracks and may delaminate; it darkens and smells of "
            "smoke; never leave it, and watch it for an hour after, in the open: wood can smoulder unseen"
        ),
    )
