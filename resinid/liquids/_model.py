"""What is known of one kind of test liquid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.errors import RangeError
from resinid.liquids._checks import refuse_not_finite

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["LiquidModel"]

# A conversion there and back may overshoot a limit by the last digits of a float.
_ROUNDING: Final = 1e-12


@dataclass(frozen=True, slots=True)
class LiquidModel:
    """How dense a liquid is, and how well that is known.

    Parameters
    ----------
    name : str
        The name used in results.
    aliases : tuple of str
        Other names it is found by.
    title : str
        A phrase for messages.
    density, uncertainty : callable
        Density and its standard uncertainty [g/cm3] from mass fraction and temperature [degC].
    w_max : float
        Largest mass fraction the formula covers; 1 for liquids that mix with water in any proportion.
    t_low, t_high : float
        Temperature range [degC].
    sources : tuple of str
        Keys of the publications used.
    saturation : callable or None
        Mass fraction of the saturated solution from temperature [degC].
    hydrates : tuple of (str, float)
        Names of the hydrates sold, and the mass fraction of anhydrous solute in each.
    u_reagent : float
        Relative standard uncertainty of an amount weighed or measured in a workshop.
    caution : str
        What to beware of at the bench.

    Examples
    --------
    >>> from resinid.liquids import model
    >>> round(model("NaCl").density(0.10, 20.0), 3)
    1.071
    """

    name: str
    aliases: tuple[str, ...]
    title: str
    density: Callable[[float, float], float]
    uncertainty: Callable[[float, float], float]
    w_max: float
    t_low: float
    t_high: float
    sources: tuple[str, ...]
    saturation: Callable[[float], float] | None = None
    hydrates: tuple[tuple[str, float], ...] = ()
    # Kitchen scale or measuring jug, and a reagent of common purity: common practice, no source.
    u_reagent: float = 0.02
    caution: str = ""

    @property
    def is_liquid(self) -> bool:
        """Whether the pure solute is a liquid, so that volumes of it make sense."""
        return self.w_max >= 1.0

    def limit(self, t: float) -> float:
        """Return the largest mass fraction that holds at ``t`` [degC]: table or saturation."""
        return self.w_max if self.saturation is None else min(self.w_max, self.saturation(t))

    def check(self, w: float, t: float) -> None:
        """Refuse a mass fraction or temperature outside the range.

        Parameters
        ----------
        w : float
            Mass fraction.
        t : float
            Temperature [degC].

        Raises
        ------
        RangeError
            With the value, the range and a way out.
        """
        self.check_temperature(t)
        top = self.limit(t)
        if 0.0 <= w <= top + _ROUNDING:
            return
        msg = f"{self.title}: mass fraction {w:.4g} is outside 0 to {top:.4g} at {t:g} °C"
        if top < self.w_max:
            msg += ", where the water is saturated; use less, or warm the bath if that dissolves more"
        else:
            msg += ", where the table ends; use less, or measure the bath with a hydrometer"
        raise RangeError(msg)

    def check_temperature(self, t: float) -> None:
        """Refuse a temperature [degC] outside the range with :class:`RangeError`, no number with InputError."""
        if not isinstance(t, float):  # of a float that is no number the range says enough
            refuse_not_finite(temperature=t)
        if not self.t_low <= t <= self.t_high:
            msg = (
                f"{self.title}: temperature {t:g} °C is outside {self.t_low:g} to {self.t_high:g} °C; "
                "let the bath come to room temperature, or measure it with a hydrometer"
            )
            raise RangeError(msg)
