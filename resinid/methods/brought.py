"""What a plug-in knows of a property of its own: asked once, checked, and never trusted after that.

A plug-in's test may observe a property that it brings along itself. The engine asks such an
object for its name, what it depends on, its axis and its latent, in many places. Here stands
:class:`Brought`, which answers in its place: name, dependences and axis are read once and
checked, and the latent is fetched through :func:`resinid.methods.outside.calling` each time.
"""

from __future__ import annotations

import operator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np

from resinid.errors import PlugInError
from resinid.methods.outside import array_of, calling, is_finite, is_own, test_of
from resinid.scoring.grid import Axis
from resinid.scoring.latents import Latent
from resinid.scoring.observed import CORE, Dependence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.scoring.observed import Observable, Observed
    from resinid.table.table import Table

    Array = NDArray[np.float64]

__all__ = ["Brought", "latent_faults", "observable_of", "property_faults"]

ROUNDING: Final = 1e-6
"""By how much the masses of a variant may miss one."""


@dataclass(frozen=True, slots=True, eq=False)
class Brought:
    """A plug-in's own property or aspect, behind the guard.

    Parameters
    ----------
    of : Observed
        What the plug-in brought along.
    kind : type
        The test's class, which is left out if it fails.
    name : str
    depends : tuple of Dependence
    axis : Axis or None
    hashed : int
        Its hash, so that tests which observe one property find one latent.
    """

    of: Observed
    kind: type
    name: str
    depends: tuple[Dependence, ...]
    axis: Axis | None
    hashed: int

    def __hash__(self) -> int:
        """Return the hash of what was brought along."""
        return self.hashed

    def __eq__(self, other: object) -> bool:
        """Return whether two tests observe one property; what cannot be compared is another."""
        what: object = other.of if isinstance(other, Brought) else other
        # Of one type only, so that no plug-in is asked about what is another's.
        if what is self.of or type(what) is not type(self.of):
            return what is self.of
        try:
            return calling(lambda: bool(operator.eq(self.of, what)), self._who("=="), kind=self.kind)
        except PlugInError:
            return False

    def latent(self, table: Table, features: Iterable[tuple[float, float]] = ()) -> Latent:
        """Return what the plug-in knows of each variant of a table, checked and copied.

        Raises
        ------
        PlugInError
            The plug-in failed, took too long or returned what cannot be.
        """
        return calling(self._latent, self._who("latent()"), table, tuple(features), kind=self.kind)

    def _latent(self, table: Table, features: tuple[tuple[float, float], ...]) -> Latent:
        ask = cast("Any", self.of).latent
        found: object = ask(table, features) if features else ask(table)
        for fault in latent_faults(found, len(table.variants)):
            raise TypeError(fault)
        return _copied(cast("Latent", found), self.name)

    def _who(self, what: str) -> str:
        return f"test {test_of(self.kind)!r} ({self.kind.__module__}): {what} of its property {self.name!r}"


def observable_of(test: Observation | type[Observation]) -> Observable:
    """Return what a test observes: as it is where the test is ours, behind the guard where it is not.

    Raises
    ------
    PlugInError
        What a plug-in's test states is neither a core property nor one that can be used.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> observable_of(FloatTest)
    'density'
    """
    kind = test if isinstance(test, type) else type(test)
    if is_own(kind):
        return cast("Observable", test.observes)
    who = f"test {test_of(kind)!r} ({kind.__module__})"
    found = calling(_asked, who, test, kind, kind=kind)
    if isinstance(found, list):
        raise PlugInError(f"{who}: {'; '.join(found)}", kind)
    return found


def _asked(test: object, kind: type) -> Observable | list[str]:
    what = cast("Any", test).observes
    faults = property_faults(what)
    if faults or isinstance(what, str):
        return faults or str(what)
    if what.name in CORE:
        return [f"it brings along its own {what.name!r}, which is a core property; observe that by its name"]
    depends = tuple(Dependence(link.on, float(link.share), link.why) for link in what.depends)
    return Brought(what, kind, what.name, depends, getattr(what, "axis", None), hash(what))


def property_faults(what: Any) -> list[str]:  # noqa: ANN401 - because anything may come from a plug-in
    """Return what is wrong with what a test says it observes; runs code of the plug-in's."""
    if isinstance(what, str):
        return [] if what in CORE else [f"observes {what!r:.80}, which is no core property: {', '.join(CORE)}"]
    lacks = [name for name in ("name", "latent", "depends") if not hasattr(what, name)]
    if lacks:
        missing = ", ".join(lacks)
        return [f"observes {what!r:.80}, which lacks {missing}; give a core property's name, an Aspect or a Measure"]
    if not isinstance(what.name, str) or not what.name:
        return [f"observes what has the name {what.name!r:.80}; expected a text"]
    of = f"of its property {what.name!r:.80}"
    faults: list[str] = []
    if not callable(what.latent):
        faults.append(f"latent {of} cannot be called")
    try:
        hash(what)
    except Exception as error:  # noqa: BLE001 - because a plug-in's hash may fail in any way
        faults.append(f"its property {what.name!r} cannot be hashed ({error}); make it a frozen dataclass")
    folder = getattr(what, "folder", None)
    if folder is not None and not isinstance(folder, Path):
        faults.append(f"the folder {of} is {folder!r:.80}; expected a pathlib.Path")
    if not _is_axis(getattr(what, "axis", None)):
        faults.append(f"the axis {of} is no resinid Axis with finite ends and steps above zero")
    if not isinstance(what.depends, tuple):
        return [
            *faults,
            f"depends {of} is {what.depends!r:.80}; expected a tuple of Dependence",
        ]
    return faults + [fault for link in what.depends for fault in _link_faults(link, of)]


def _link_faults(link: object, of: str) -> list[str]:
    if not isinstance(link, Dependence):
        return [f"depends {of} holds {link!r:.80}; expected a Dependence"]
    words: tuple[object, ...] = (link.on, link.why)
    if all(isinstance(word, str) for word in words) and is_finite(link.share) and 0 <= link.share <= 1:
        return []
    return [f"the dependence {of} on {link.on!r:.80} needs texts and a share from 0 to 1, not {link.share!r:.50}"]


def _is_axis(axis: object) -> bool:
    if axis is None:
        return True
    if not isinstance(axis, Axis) or not isinstance(axis.logarithmic, bool):
        return False
    ends = (axis.low, axis.high, axis.centre, axis.below, axis.above, axis.step)
    return all(map(is_finite, ends)) and axis.low < axis.high and min(axis.below, axis.above, axis.step) > 0


def latent_faults(found: Any, variants: int) -> list[str]:  # noqa: ANN401 - because anything may come from a plug-in
    """Return what is wrong with a latent for a table of so many variants."""
    if not isinstance(found, Latent):
        return [f"gave a {type(found).__name__}; expected a Latent"]
    values, mass = array_of(found.values), array_of(found.mass)
    faults: list[str] = []
    if mass.shape != (variants + 1, values.size) or values.ndim != 1 or not values.size:
        expected = (variants + 1, values.size)
        return [f"has masses of shape {mass.shape} and values of shape {values.shape}; expected {expected} for these"]
    if np.isnan(values).any():
        faults.append("has a value that is no number")
    # "Not a number" fails every comparison, so these are asked so that it fails them too.
    if not (mass >= 0).all() or not np.allclose(mass.sum(axis=1), 1.0, atol=ROUNDING):
        faults.append("has masses that are negative, or do not add up to one for each variant")
    if found.stray is not None:
        stray = array_of(found.stray)
        if stray.shape != mass.shape or not ((stray >= 0) & (stray <= mass + ROUNDING)).all():
            faults.append("says that more strays than there is, or less than nothing")
    stated, sources = tuple(found.stated), tuple(found.sources)
    if len(stated) != variants or not all(isinstance(each, (bool, np.bool_)) for each in stated):
        faults.append(f"states {len(stated)} times whether something is known; expected true or false for {variants}")
    if len(sources) != variants or not all(isinstance(key, str) for each in sources for key in each):
        faults.append(f"names sources for {len(sources)} variants; expected texts for {variants}")
    return faults


def _copied(found: Latent, name: str) -> Latent:
    values, mass = array_of(found.values), array_of(found.mass)
    stray = None if found.stray is None else array_of(found.stray)
    for array in (values, mass, stray):
        if array is not None:
            array.flags.writeable = False
    stated = tuple(bool(each) for each in found.stated)
    sources = tuple(frozenset(each) for each in found.sources)
    return Latent(name, values, mass, stated, sources, stray)
