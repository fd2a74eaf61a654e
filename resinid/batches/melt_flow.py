"""How runny a melt is: the melt flow rate measured, or inferred from how the item was made.

Rates of one resin at one temperature and load mix by the log rule (Nielsen 1977),

    ln MFR = sum_i w_i ln MFR_i,

stated to hold up to a ratio of 3.28 between the rates (source rotoun-mfr, a weak one; much the
same ratio of viscosities is about the most at which shear still breaks up a stiffer lump,
Grace 1982, from memory). Beyond it the mix stays streaky and the rule is only an indication.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.methods.melt_flow_rate.spread import ANY_PROCESS, DOUBTED, FLOOR, GRADE_SPREAD, WORDS
from resinid.reference.rules import DOUBT, TRUST, Z90

if TYPE_CHECKING:
    from resinid.batches.bag import Batch
    from resinid.io.reading import Reading
    from resinid.reference.entries import Statement
    from resinid.reference.table import ReferenceTable

__all__ = [
    "LARGEST_RATIO",
    "RULE_ERROR",
    "Flow",
    "flow_of",
    "log_rule",
    "parse_condition",
    "same_condition",
    "stiffness",
]

LARGEST_RATIO: Final = 3.28
"""Ratio of melt flow rates up to which grades mix evenly and the log rule is said to hold (source rotoun-mfr)."""

USUAL_LOAD: Final = 2.16
"""[kg] Of most melt flow rates (ISO 1133)."""

_CONDITION: Final = re.compile(r"(\d+(?:\.\d+)?)\s*(?:(?:°|deg)?\s?[Cc]|(K)|)\s*/\s*(\d+(?:\.\d+)?)\s*(?:kg)?")

MEASURED: Final = 0.08
"""Least relative standard uncertainty of a melt flow rate measured in a workshop (common practice, no source)."""

RULE_ERROR: Final = 0.10
"""Standard deviation of ln MFR of a mix about the log rule within its range: of the order of the mean
relative errors of up to 6 % found with fitted rules (Traxler and others, Polymers 14 (2022) 2699)."""


@dataclass(frozen=True, slots=True)
class Flow:
    """The natural log of a melt flow rate [ln g/10 min] as a normal distribution.

    Parameters
    ----------
    mean, sd : float
    condition : str
        Temperature and load, such as ``190 C/2.16 kg``.
    basis : str
        ``"measured"``, ``"inferred from"`` a process, or ``"any process"``.
    sources : tuple of str
    """

    mean: float
    sd: float
    condition: str
    basis: str
    sources: tuple[str, ...]


def log_rule(rates: tuple[float, ...], shares: tuple[float, ...]) -> float:
    """Return the melt flow rate of a mix [g/10 min] by the log rule.

    Parameters
    ----------
    rates : tuple of float
        Melt flow rates [g/10 min], all at one temperature and load.
    shares : tuple of float
        Mass shares; they add up to one.

    Examples
    --------
    >>> round(log_rule((1.0, 2.0), (0.5, 0.5)), 3)
    1.414
    """
    return math.exp(math.fsum(share * math.log(rate) for rate, share in zip(rates, shares, strict=True)))


def stiffness(rate: float, condition: str) -> str:
    """Return in a word how a melt behaves under a hand press (common practice, no source).

    The words are for rates under the usual 2.16 kg; a rate under a heavier load is that of a stiffer melt,
    by how much depends on the grade, so less is said of it.

    Examples
    --------
    >>> stiffness(0.3, "190 C/2.16 kg"), stiffness(20.0, "190 C/2.16 kg")
    ('stiff, does not flow by itself; press hard and give it time', 'runny, fills a mould easily; mind flash and drips')
    >>> stiffness(19.0, "220 C/10 kg")
    'stiffer than its rate sounds, for that was under 10 kg; press hard and give it time'
    """
    stated = parse_condition(condition)
    if stated is not None and stated[1] > USUAL_LOAD + 0.5:
        return f"stiffer than its rate sounds, for that was under {stated[1]:g} kg; press hard and give it time"
    if rate < 1.0:
        return "stiff, does not flow by itself; press hard and give it time"
    if rate < 10.0:
        return "doughy, flows under pressure"
    return "runny, fills a mould easily; mind flash and drips"


def flow_of(batch: Batch, resin: str, reference: ReferenceTable) -> Flow | None:
    """Return how runny the melt of a batch is if it is of a resin; None where nothing is known.

    Examples
    --------
    >>> from resinid.batches.bag import Batch
    >>> from resinid.reference.table import default_reference
    >>> caps = flow_of(Batch.of("caps", process="injection moulding"), "PE-HD", default_reference())
    >>> bottles = flow_of(Batch.of("bottles", process="blow moulding"), "PE-HD", default_reference())
    >>> math.exp(caps.mean - bottles.mean) > 10
    True
    """
    rows = [r for r in reference.statements if r.resin == resin and r.property == "melt_flow_rate"]
    usual = _usual_condition(rows)
    if batch.mfr is not None:
        return _measured(batch.mfr, batch.mfr_condition or usual)
    rows = [row for row in rows if same_condition(_condition(row), usual)]
    words = WORDS.get(batch.process, ())
    of_process = [row for row in rows if any(word in row.condition for word in words)]
    if not rows:
        return None
    chosen = of_process or rows
    parts = [(*_normal(row), TRUST[row.obtained]) for row in chosen]
    total = math.fsum(weight for _, _, weight in parts)
    mean = math.fsum(m * weight for m, _, weight in parts) / total
    variance = math.fsum((sd**2 + (m - mean) ** 2) * weight for m, sd, weight in parts) / total
    sd = max(math.sqrt(variance), FLOOR)
    basis = f"inferred from {batch.process}" if of_process else "any process"
    sources = tuple(sorted({row.source for row in chosen}))
    return Flow(mean, sd if of_process else math.hypot(sd, ANY_PROCESS), usual, basis, sources)


def parse_condition(text: str) -> tuple[float, float] | None:
    """Return the temperature [degC] and load [kg] that a text states; None where it states none.

    Examples
    --------
    >>> parse_condition("190 °C/2.16kg"), parse_condition("190/2.16"), parse_condition("463.15 K / 2.16 kg")
    ((190.0, 2.16), (190.0, 2.16), (190.0, 2.16))
    >>> parse_condition("as usual") is None
    True
    """
    match = _CONDITION.fullmatch(text.strip())
    if match is None:
        return None
    temperature, unit, load = float(match[1]), match[2], float(match[3])
    if unit == "K":
        temperature = round(temperature - 273.15, 2)
    # What lies outside is a slip: ISO 1133 has loads from 0.325 to 21.6 kg.
    return (temperature, load) if 100.0 <= temperature <= 450.0 and 0.3 <= load <= 22.0 else None


def same_condition(first: str, second: str) -> bool:
    """Return whether two texts state one temperature and load.

    Examples
    --------
    >>> same_condition("190 C/2.16 kg", "190 °C/2.16kg")
    True
    """
    one, other = parse_condition(first), parse_condition(second)
    return one == other if one or other else first == second


def _measured(reading: Reading, condition: str) -> Flow:
    sd = max(reading.u / reading.value, MEASURED)
    return Flow(math.log(reading.value), sd, condition, "measured", ())


def _usual_condition(rows: list[Statement]) -> str:
    conditions = [_condition(row) for row in rows if "/" in _condition(row)]
    # The one most rows state; of equals, the first by name.
    return min(conditions, key=lambda c: (-conditions.count(c), c), default="")


def _condition(row: Statement) -> str:
    return row.condition.partition(";")[0].strip()


def _normal(row: Statement) -> tuple[float, float]:
    doubt = DOUBTED * DOUBT[row.obtained]
    if row.low is not None and row.high is not None:
        centre = row.typical if row.typical is not None else math.sqrt(row.low * row.high)
        spread = math.log(row.high / row.low) / (2.0 * Z90)
        return math.log(centre), math.hypot(spread, doubt)
    value = next(value for value in (row.typical, row.low, row.high) if value is not None)
    return math.log(value), math.hypot(GRADE_SPREAD, doubt)
