"""Entries of a batch as a person writes them, each made into a typed value with its faults named."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, is_dataclass
from numbers import Integral
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from resinid.batches.melt_flow import parse_condition
from resinid.errors import Fault, Faults, InputError, ResinidError, place_of, safe_repr
from resinid.io.build import build, faults_of_readings
from resinid.io.close_words import did_you_mean
from resinid.io.document import Document, read_document
from resinid.io.fields import choice, number, text, written_with
from resinid.io.liquid_parser import liquid_field
from resinid.io.reading import Reading, read
from resinid.methods._guard import build_observation, check_ready_made
from resinid.methods.float_test.method import OUTLIER, FloatTest
from resinid.methods.implied import with_implied
from resinid.methods.registry import allowed, find_test
from resinid.methods.shapes import as_shaped

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from resinid.liquids import Liquid
    from resinid.methods.contract import Observation

__all__ = [
    "FACTS",
    "LABELS",
    "MOST_ITEMS",
    "PROCESSES",
    "REMARKS",
    "WASHES",
    "Facts",
    "Flakes",
    "as_list",
    "flake_items",
    "gathered",
    "numbered_items",
    "parse_alike",
    "parse_article",
    "parse_flakes",
    "parse_holds",
    "parse_labels",
    "parse_marked",
    "parse_pieces",
    "parse_reading",
    "parse_remarks",
    "piece_beside",
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

LABELS: Final = ("foil", "none", "paper", "plastic", "shrink sleeve")
"""What sticks to the items of a bag or is drawn over them."""

WASHES: Final = ("unknown", "unwashed", "washed", "washed and dried")
"""Whether a bag's items were washed; the first is the default."""

MOST_ITEMS: Final = 5000
"""More pieces and flakes than this in one batch are taken for a slip."""


MOST_HELD: Final = 10_000_000
"""A bag of more items than this is taken for a slip."""


@dataclass(frozen=True, slots=True)
class _Count:
    most: int = MOST_ITEMS

    def parse(self, value: object) -> int:
        # A whole number of numpy's, as a table's row holds, counts as well.
        if isinstance(value, bool) or not isinstance(value, Integral) or not 0 <= int(value) <= self.most:
            raise InputError([Fault("", f"{safe_repr(value, 50)} is not a whole number from 0 to {self.most}")])
        return int(value)

    def dump(self, value: int) -> object:
        return value

    def expects(self) -> str:
        return f"a whole number from 0 to {self.most}"


@dataclass(frozen=True, slots=True)
class Flakes:
    """Shredded flakes that were stirred into a liquid and counted.

    Parameters
    ----------
    liquid : Liquid
        What they were put in.
    floated, sank : int
        How many did.
    sample : str, optional
        Name of the handful that was counted: entries of one name are the same flakes, or caps, floated
        in one liquid after another, and count once.
    outlier : float, optional
        Chance that one flake was counted wrongly, as for the float test.
    """

    liquid: Liquid = liquid_field()
    floated: int = written_with(_Count(), 0)
    sank: int = written_with(_Count(), 0)
    sample: str = text()
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
    wash: str = choice(WASHES, WASHES[0])
    melted_before: int = written_with(_Count(), 0)

    def faults(self) -> Iterator[Fault]:
        """Tell a condition that states no temperature and load, which would be compared with nothing."""
        if self.mfr_condition and parse_condition(self.mfr_condition) is None:
            what = "is not a temperature and a load; write for example '190 C/2.16 kg'"
            yield Fault("mfr_condition", f"{self.mfr_condition!r:.50} {what}")


FACTS: Final = ("process", "mfr_condition", "wash", "melted_before")


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
        out.append(with_implied(as_shaped(tuple(observation for observation in made if observation is not None))))
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
    _check_samples(out, faults)
    return tuple(out)


def flake_items(flakes: Iterable[Flakes]) -> list[tuple[str, tuple[Observation, ...], int]]:
    """Return what was seen of counted flakes: what to call one of them, its readings, and how many there are.

    Of flakes floated in one liquid after another those that floated in a lighter one floated in every
    heavier one as well, as density has it.

    Examples
    --------
    >>> from resinid.io.liquid_parser import parse_liquid
    >>> water, alcohol = parse_liquid("water"), parse_liquid("ethanol 40 %v/v")
    >>> found = flake_items([Flakes(water, 50, 0, "a"), Flakes(alcohol, 20, 30, "a")])
    >>> [(what, count) for what, _, count in found]
    [('a flake that floats and floats', 20), ('a flake that floats and sinks', 30)]
    """
    named: dict[str, list[Flakes]] = {}
    for place, each in enumerate(flakes):
        named.setdefault(each.sample or f"\0{place}", []).append(each)
    out: list[tuple[str, tuple[Observation, ...], int]] = []
    for baths in named.values():
        ordered = sorted(baths, key=lambda each: -each.liquid.density)
        floated = [*(each.floated for each in ordered), 0]
        left = ordered[0].floated + ordered[0].sank
        # First those that sink in the heaviest, then those that float in it and sink in the next, and so on.
        rows = [(left - floated[0], 0), *((floated[k] - floated[k + 1], k + 1) for k in range(len(ordered)))]
        for count, number_ in reversed(rows):
            if count > 0:
                tests = tuple(
                    FloatTest(each.liquid, "floats" if place < number_ else "sinks", each.outlier)
                    for place, each in enumerate(ordered)
                )
                out.append((f"a flake that {' and '.join(test.outcome for test in tests)}", tests, count))
    return out


def _check_samples(flakes: Iterable[Flakes], faults: Faults) -> None:
    """Note samples that cannot be: of other numbers in each liquid, or of which more float in a lighter one."""
    named: dict[str, list[Flakes]] = {}
    for each in flakes:
        if each.sample:
            named.setdefault(each.sample, []).append(each)
    for name, baths in named.items():
        ordered = sorted(baths, key=lambda each: -each.liquid.density)
        if len({each.floated + each.sank for each in baths}) > 1:
            faults.add("flakes", f"sample {name!r:.50} has not the same number of flakes in each liquid")
        elif any(one.floated < other.floated for one, other in itertools.pairwise(ordered)):
            faults.add("flakes", f"of sample {name!r:.50} more float in a lighter liquid than in a heavier one")


def numbered_items(
    pieces: Iterable[tuple[Observation, ...]], flakes: Iterable[Flakes], marked: Iterable[tuple[str, int]]
) -> int:
    """Return how many pieces and flakes were looked at.

    Examples
    --------
    >>> numbered_items((), (), (("PP", 8), ("PS", 1)))
    9
    """
    counted = sum(count for *_, count in flake_items(flakes)) + sum(count for _, count in marked)
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
    return _words("remarks", given, REMARKS, faults)


def _words(key: str, given: object, known: tuple[str, ...], faults: Faults) -> tuple[str, ...]:
    out: set[str] = set()
    for word in as_list([given] if isinstance(given, str) else given, key, faults):
        if isinstance(word, str) and word in known:
            out.add(word)
        else:
            faults.add(key, f"{safe_repr(word, 50)} is not one of: {', '.join(known)}{did_you_mean(word, known)}")
    return tuple(sorted(out))


def parse_article(given: object, faults: Faults) -> str:
    """Return the kind of article, a word of the test ``article``; empty where none is given."""
    if given is None or (isinstance(given, str) and not given):
        return ""
    inner = Faults()
    gathered(inner, "", build, find_test("article", ()), {"outcome": given})
    for fault in inner:
        faults.add("article", fault.message)
    return given if isinstance(given, str) else ""


def parse_labels(given: object, faults: Faults) -> tuple[str, ...]:
    """Return what sticks to the items of a bag, each once, sorted."""
    return _words("labels", given, LABELS, faults)


def parse_alike(given: object) -> int:
    """Return how many pieces were read like one.

    Raises
    ------
    InputError
        It is no whole number above zero.
    """
    found = _Count().parse(given)
    if not found:
        raise InputError([Fault("", "must be above zero")])
    return found


def piece_beside(name: object, folder: Path | None) -> Document:
    """Return a piece's document that lies beside a bag's.

    Raises
    ------
    InputError
        It is not beside it, cannot be read, or is no piece's document.
    """
    if not isinstance(name, str) or folder is None or Path(name).is_absolute() or ".." in Path(name).parts:
        raise InputError([Fault("", f"{safe_repr(name)} is not beside the bag's file; give a plain file name")])
    try:
        text_ = (folder / name).read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not UTF-8 text"
        raise InputError([Fault("", f"{name[:100]!r} cannot be read: {reason}")]) from error
    return read_document(text_)


def parse_holds(given: object, faults: Faults) -> int | None:
    """Return how many items a bag holds, None where that is not stated."""
    if given is None:
        return None
    found = gathered(faults, "holds", _Count(MOST_HELD).parse, given)
    if found == 0:
        faults.add("holds", "must be above zero")
    return found


def parse_reading(given: object, quantity: str, place: str, faults: Faults) -> Reading | None:
    """Return a reading above zero, None where nothing is given."""
    if given is None:
        return None
    found = gathered(faults, place, read, given, quantity)
    if found is not None and not found.value > 0:
        faults.add(place, "must be above zero")
    return found
