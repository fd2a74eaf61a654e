"""What a test says of itself beside its likelihood: its readings in a line or written down, and its liquid.

A plug-in was heard once before it was scored, and may fail the next time all the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.door.fields import unbuild
from resinid.errors import PlugInError
from resinid.liquids.liquid import Liquid
from resinid.methods.outside import calling, is_own, is_writable, test_of

if TYPE_CHECKING:
    from resinid.methods.contract import Observation

__all__ = ["liquid_of", "said_of", "written_of"]


def said_of(observation: Observation) -> str:
    """Return the readings in one line; of a plug-in's that fails, that it cannot say them."""
    kind = type(observation)
    if is_own(kind):
        return observation.describe()
    try:
        said: object = calling(observation.describe, f"describe() of test {test_of(kind)!r}", kind=kind)
    except PlugInError:
        said = None
    return said if isinstance(said, str) and is_writable(said) else f"{test_of(kind)} cannot say what was read"


def written_of(observation: Observation) -> dict[str, object]:
    """Return the readings as they are written down.

    Raises
    ------
    PlugInError
        The plug-in failed or took too long.
    """
    kind = type(observation)
    return unbuild(observation) if is_own(kind) else calling(unbuild, f"test {test_of(kind)!r}", observation, kind=kind)


def liquid_of(observation: Observation) -> Liquid | None:
    """Return the liquid of a test, None where it has none or a plug-in fails at saying which."""
    kind = type(observation)
    if is_own(kind):
        return _liquid(observation)
    try:
        found: object = calling(_liquid, f"liquid of test {test_of(kind)!r}", observation, kind=kind)
    except PlugInError:
        return None
    return found if isinstance(found, Liquid) else None


def _liquid(observation: Observation) -> Liquid | None:
    found: Liquid | None = getattr(observation, "liquid", None)
    return found
