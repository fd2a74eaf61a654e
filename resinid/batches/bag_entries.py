"""Entries of a batch as a person writes them, each made into a typed value with its faults named."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, is_dataclass
from numbers import Integral
from typing import TYPE_CHECKING, Any, Final, TypeVar

from resinid.batches.melt_flow import parse_condition
from resinid.errors import Fault, Faults, InputError, ResinidError, place_of, safe_repr
from resinid.io.build import build, faults_of_readings
from resinid.io.close_words import did_you_mean
from resinid.io.fields import choice, number, text, written_with
from resinid.io.liquid_parser import liquid_field
from resinid.io.reading import Reading, read
from resinid.methods._guard import build_observation, check_ready_made
from resinid.methods.float_test.method import OUTLIER, FloatTest
from resinid.methods.registry import allowed, find_test
from resinid.methods.shapes import as_shaped

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from resinid.liquids import Liquid
    from resinid.methods.contract import Observation

__all__ = [
    "FACTS",
    "MOST_ITEMS",
    "PROCESSES",
    "REMARKS",
    "Facts",
    "Flakes",
    "as_list",
    "gathered",
    "numbered_items",
    "parse_flakes",
    "parse_marked",
    "parse_pieces",
    "parse_reading",
    "parse_remarks",
]

T = TypeVar("T")

PROCESSES: Final = (
    "unknown",
    "injection moulding",
    "blow moulding",
    "extrusion",
    "film",
    "fibre",
    "rotational moulding",
    "thermoforming",
)
"""How an item was made; the first is the default."""

REMARKS: Final = (
    "black",
    "building board",
    "coloured",
    "electrical housing",
    "flame retarded",
    "food contact",
    "halogen found",
    "halogen-free",
    "natural colour",
    "white",
)
"""What a person may remark of a batch; ``halogen found`` and ``halogen-free`` are results of
a copper-wire test of its pieces."""

MOST_ITEMS: Final = 5000
"""More pieces and flakes than this in one batch are taken for a slip."""


@dataclass(frozen=True, slots=True)
class _Count:
    def parse(self, value: object) -> int:
        # A whole number of numpy's, as a table's row holds, counts as well.
        if isinstance(value, bool) or not isinstance(value, Integral) or not 0 <= int(value) <= MOST_ITEMS:
            raise InputError([Fault("", f"{safe_repr(value, 50)} is not a whole number from 0 to {MOST_ITEMS}")])
        return int(value)

    def dump(self, value: int) -> object:
        return value

    def expects(self) -> str:
        return f"a whole number from 0 to {MOST_ITEMS}"


@dataclass(frozen=True, slots=True)
class Flakes:
    """Shredded flakes that were stirred into a liquid and counted.

    Parameters
    ----------
    liquid : Liquid
        What they were put in.
    floated, sank : int
        How many did.
    outlier : float, optional
        Chance that one flake was counted wrongly, as for the float test.
    """

    liquid: Liquid = liquid_field()
    floated: int = written_with(_Count(), 0)
    sank: int = written_with(_Count(), 0)
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def tests(self) -> tuple[tuple[FloatTest, int], ...]:
        """Return the float test of each outcome with how many flakes showed it."""
        outcomes = (("floats", self.floated), ("sinks", self.sank))
        return tuple((FloatTest(self.liquid, outcome, self.outlier), count) for outcome, count in outcomes if count)


@dataclass(frozen=True, slots=True)
class Facts:
    """The plain entries of a batch, as the door reads them."""

    process: str = choice(PROCESSES, PROCESSES[0])
    mfr_condition: str = text()

    def faults(self) -> Iterator[Fault]:
        """Tell a condition that states no temperature and load, which would be compared with nothing."""
        if self.mfr_condition and parse_condition(self.mfr_condition) is None:
            what = "is not a temperature and a load; write for example '190 C/2.16 kg'"
            yield Fault("mfr_condition", f"{self.mfr_condition!r:.50} {what}")


FACTS: Final = ("process", "mfr_condition")


def as_list(given: object, key: str, faults: Faults) -> list[object]:
    """Return a list as it is; add a fault where it is none."""
    if isinstance(given, (list, tuple)):
        return list(given)
    faults.add(key, f"is not a list; in TOML write [[{key}]] with two brackets")
    return []


def gathered(faults: Faults, under: str, make: Callable[..., T], *given: object) -> T | None:
    """Return what ``make`` makes of ``given``; where it raises, add its faults and return None."""
    try:
        return make(*given)
    except InputError as error:
        faults.extend(error.faults, under=under)
    except ResinidError as error:
        faults.add(under, str(error))
    return None


def parse_pieces(given: object, faults: Faults, allow: Iterable[str] = ()) -> tuple[tuple[Observation, ...], ...]:
    """Return the observations of each piece; dangerous tests only as far as allowed."""
    out: list[tuple[Observation, ...]] = []
    for index, piece in enumerate(as_list(given, "pieces", faults), start=1):
        made = [
            gathered(faults, f"piece[{index}].observation[{number_}]", _observation, entry, tuple(allow))
            for number_, entry in enumerate(as_list(piece, f"piece[{index}]", faults), start=1)
        ]
        out.append(as_shaped(tuple(observation for observation in made if observation is not None)))
    return tuple(out)


def _observation(entry: object, allow: tuple[str, ...]) -> Any:  # noqa: ANN401 - any test's class
    if hasattr(type(entry), "term"):
        check_ready_made(entry)
        if not is_dataclass(entry):
            raise InputError(
                [Fault("", f"{safe_repr(entry)} cannot be written down; make the test's class a dataclass")]
            )
        return entry
    if not isinstance(entry, Mapping):
        raise InputError([Fault("", f"{safe_repr(entry)} is neither an observation nor a mapping with the key 'test'")])
    if not isinstance(entry.get("test"), str):
        raise InputError([Fault("test", "is missing; name the test, for example test = 'float'")])
    fields = {key: entry[key] for key in entry if key != "test"}
    return build_observation(allowed(find_test(entry["test"], ()), allow), fields)


def parse_flakes(given: object, faults: Faults) -> tuple[Flakes, ...]:
    """Return the counts of flakes."""
    out: list[Flakes] = []
    for index, entry in enumerate(as_list(given, "flakes", faults), start=1):
        if isinstance(entry, Flakes):
            faults.extend(faults_of_readings(entry), under=f"flakes[{index}]")
            out.append(entry)
        elif isinstance(entry, Mapping):
            made = gathered(faults, f"flakes[{index}]", build, Flakes, entry)
            out += [made] if made is not None else []
        else:
            faults.add(f"flakes[{index}]", "is not a table with the keys liquid, floated and sank")
    return tuple(out)


def numbered_items(
    pieces: Iterable[tuple[Observation, ...]], flakes: Iterable[Flakes], marked: Iterable[tuple[str, int]]
) -> int:
    """Return how many pieces and flakes were looked at.

    Examples
    --------
    >>> numbered_items((), (), (("PP", 8), ("PS", 1)))
    9
    """
    counted = sum(each.floated + each.sank for each in flakes) + sum(count for _, count in marked)
    return sum(1 for piece in pieces if piece) + counted


def parse_marked(given: object, faults: Faults) -> tuple[tuple[str, int], ...]:
    """Return counts of pieces by the resin they are marked with, each resin once."""
    pairs = given.items() if isinstance(given, Mapping) else given
    out: dict[str, int] = {}
    try:
        for resin, count in pairs:  # type: ignore[attr-defined]  # because what is no list of pairs is caught below
            if not isinstance(resin, str):
                faults.add(place_of("marked", resin), "is not the name of a resin; write for example {'PP': 8}")
                continue
            made = gathered(faults, place_of("marked", resin), _Count().parse, count)
            if made:
                out[resin] = out.get(resin, 0) + made
    except (TypeError, ValueError):
        faults.add("marked", "is not a table of counts by resin")
    return tuple(out.items())


def parse_remarks(given: object, faults: Faults) -> tuple[str, ...]:
    """Return remarks, each once, sorted."""
    out: set[str] = set()
    for word in as_list([given] if isinstance(given, str) else given, "remarks", faults):
        if isinstance(word, str) and word in REMARKS:
            out.add(word)
        else:
            faults.add(
                "remarks", f"{safe_repr(word, 50)} is not one of: {', '.join(REMARKS)}{did_you_mean(word, REMARKS)}"
            )
    return tuple(sorted(out))


def parse_reading(given: object, quantity: str, place: str, faults: Faults) -> Reading | None:
    """Return a reading above zero, None where nothing is given."""
    if given is None:
        return None
    found = gathered(faults, place, read, given, quantity)
    if found is not None and not found.value > 0:
        faults.add(place, "must be above zero")
    return found
