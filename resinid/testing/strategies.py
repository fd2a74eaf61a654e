"""Hypothesis strategies made from what a test's fields declare. Needs hypothesis."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.errors import InputError
from resinid.io.build import build
from resinid.io.fields import field_rules, limits_of, options_of, quantity_of, required_fields
from resinid.io.reading import Reading

if TYPE_CHECKING:
    from hypothesis import strategies as st

    from resinid.io.fields import FieldRule
    from resinid.methods.contract import Observation
    from resinid.quantities import Quantity

__all__ = ["observations", "readings"]

LIQUIDS: Final = ("water", "water at 25 degC", "ethanol 40 %v/v", "table salt 110 g/kg water", "table salt saturated")


def readings(quantity: Quantity) -> st.SearchStrategy[Reading]:
    """Return a strategy of readings over the plausible range of a quantity.

    Parameters
    ----------
    quantity : Quantity

    Returns
    -------
    hypothesis.strategies.SearchStrategy
        Of :class:`resinid.io.reading.Reading` [canonical unit]; uncertainties from a
        ten-thousandth to a tenth of the range's larger end.
    """
    from hypothesis import strategies as st

    size = max(abs(quantity.low), abs(quantity.high))
    return st.builds(Reading, st.floats(quantity.low, quantity.high), st.floats(1e-4 * size, 0.1 * size))


def observations(test: type[Observation]) -> st.SearchStrategy[Observation]:
    """Return a strategy of observations of a test, as its fields declare them.

    Parameters
    ----------
    test : type
        The test's class, its fields declared with :mod:`resinid.io.fields`.

    Returns
    -------
    hypothesis.strategies.SearchStrategy
        Of ``test``; optional fields are sometimes left out, and readings that cannot be
        together are not drawn.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> observations(FloatTest).validate()
    """
    from hypothesis import assume
    from hypothesis import strategies as st

    needed = required_fields(test)
    fields = {name: found for name, rule in field_rules(test).items() if (found := _values(name, rule)) is not None}

    @st.composite
    def made(draw: st.DrawFn) -> Observation:
        entries: dict[str, object] = {}
        for name, values in fields.items():
            if name in needed or draw(st.booleans()):
                entries[name] = draw(values)
        try:
            return build(test, entries)
        except InputError:
            assume(False)  # noqa: FBT003 - because this is how hypothesis is told to draw again
            raise

    return made()


def _values(name: str, rule: FieldRule) -> st.SearchStrategy[object] | None:
    from hypothesis import strategies as st

    quantity, options, limits = quantity_of(rule), options_of(rule), limits_of(rule)
    if quantity is not None:
        return readings(quantity)
    if options:
        return st.sampled_from(options)
    if limits is not None:
        return st.floats(*limits)
    return st.sampled_from(LIQUIDS) if name == "liquid" else None
