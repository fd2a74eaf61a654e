"""Which observations may clear a piece for heating, and which forbid it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.errors import PlugInError
from resinid.methods._guard import call_guarded, is_trusted, kind_name
from resinid.methods.registry import is_built_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from resinid.methods.contract import Observation

__all__ = ["clearing", "forbidding"]


def clearing(test: Observation | type[Observation], trusted: Iterable[type] = ()) -> bool:
    """Return whether a test may clear a piece for heating.

    A mark, the kind of article and a list of bands never do: their tests have the class
    attribute ``clears_heating = False``. A plug-in's test does only if its class is among
    ``trusted``: what a plug-in tells may raise a hazard, but clears none by itself.

    Examples
    --------
    >>> from resinid import observe
    >>> from resinid.methods.float_test.method import FloatTest
    >>> Imitation = type("Imitation", (FloatTest,), {})
    >>> clearing(FloatTest), clearing(observe("mark", reads="PP"))
    (True, False)
    >>> clearing(Imitation), clearing(Imitation, trusted=[Imitation])
    (False, True)
    """
    kind = test if isinstance(test, type) else type(test)
    return is_trusted(kind, trusted) and bool(getattr(kind, "clears_heating", True))


def forbidding(observations: Iterable[Observation]) -> tuple[str, ...]:
    """Return what was observed that forbids heating, whatever the piece is: why, each reason once.

    A test with such an outcome has a method ``forbids_heating()``, which returns the reason or an
    empty text. A plug-in's that cannot say forbids it: in doubt, do not heat.

    Examples
    --------
    >>> from resinid import observe
    >>> forbidding([observe("mark", reads=">ABS-FR(17)<")])
    ('marked >ABS-FR(17)<: flame retarded, which may give off hydrogen bromide and worse',)
    """
    return tuple(dict.fromkeys(reason for each in observations if (reason := _forbids(each))))


def _forbids(observation: Observation) -> str:
    kind = type(observation)
    if is_built_in(kind):
        return _asked(observation)
    # A plug-in that builds on one of our tests cannot take back what that forbids.
    for base in kind.__mro__:
        if is_built_in(base) and (reason := _asked(observation, base)):
            return reason
    try:
        said: object = call_guarded(kind, _asked, observation)
    except PlugInError:
        said = None
    return said if isinstance(said, str) else f"{kind_name(kind)} cannot say whether it forbids heating"


def _asked(observation: Observation, kind: type | None = None) -> str:
    ask: Callable[[Observation], str] | None = getattr(kind or type(observation), "forbids_heating", None)
    return ask(observation) if ask else ""
