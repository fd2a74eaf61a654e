"""What a record holds, as frozen values: entries with their answers and outcomes, and checks of instruments."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from resinid.errors import Fault, InputError
from resinid.heating.verdict import DO_NOT_HEAT, NO_BAR, NOT_YET, PRECAUTIONS

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["FATES", "KINDS", "Answer", "Check", "Entry", "Outcome", "lot_of"]

KINDS: Final = ("piece", "bag", "plan", "slab", "table")
"""What an entry may be."""

FATES: Final = ("pressed well", "delaminated", "fumed")
"""What may become of what was heated; any other outcome is the resin that a piece turned out to be."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What this package said of an entry.

    Parameters
    ----------
    at : str
        When, by ISO 8601.
    version, reference_digest : str
        Of this package, and of the reference table.
    data : mapping
        The answer as JSON types, as ``to_dict`` of the answer gives it.
    """

    at: str
    version: str
    reference_digest: str
    data: Mapping[str, Any]

    @property
    def verdict(self) -> str:
        """The verdict on heating as it was given; empty where none was."""
        found = self.data.get("heat", self.data.get("verdict"))
        found = found.get("verdict") if isinstance(found, dict) else found
        return found if isinstance(found, str) else ""

    @property
    def leave(self) -> bool | None:
        """Whether leave to heat was given at the time; None where that was not judged."""
        if self.verdict in {NO_BAR, PRECAUTIONS}:
            return True
        if self.verdict in {NOT_YET, DO_NOT_HEAT}:
            return False
        return isinstance(self.data.get("steps"), dict) if "steps" in self.data else None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What turned out of an entry: a resin's symbol or one of :data:`FATES`, how that was found, and a note."""

    at: str
    what: str
    how: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """A piece, bag, plan, slab or table in a record.

    Parameters
    ----------
    number : int
        By which it is called.
    kind : str
        One of :data:`KINDS`.
    name, article, source : str
        What it is called, what kind of thing it is, and where it came from.
    at : str
        When it was recorded.
    evidence : mapping
        What was observed, as a document's keys.
    answers : tuple of Answer
        Oldest first.
    outcomes : tuple of Outcome
        Oldest first; of several resins the last counts.
    made_from : tuple of int
        Numbers of the entries it was made from.
    """

    number: int
    kind: str
    name: str
    article: str = ""
    source: str = ""
    at: str = ""
    evidence: Mapping[str, Any] = field(default_factory=dict)
    answers: tuple[Answer, ...] = ()
    outcomes: tuple[Outcome, ...] = ()
    made_from: tuple[int, ...] = ()

    @property
    def answer(self) -> Answer | None:
        """The latest answer."""
        return self.answers[-1] if self.answers else None

    @property
    def confirmed(self) -> str:
        """The resin it turned out to be; empty where nobody found out."""
        return next((each.what for each in reversed(self.outcomes) if each.what not in FATES), "")

    @property
    def fates(self) -> tuple[str, ...]:
        """What became of it when it was heated."""
        return tuple(each.what for each in self.outcomes if each.what in FATES)

    def ranking(self) -> dict[str, tuple[float, float]]:
        """Return each candidate's probability and prior by the latest answer; nothing where it ranks no resins.

        Raises
        ------
        InputError
            The answer is damaged.
        """
        rows = self.answer.data.get("ranking", ()) if self.answer else ()
        try:
            return {str(row["resin"]): (float(row["probability"]), float(row["prior"])) for row in rows}
        except (LookupError, TypeError, ValueError) as error:
            raise InputError([Fault(f"entry {self.number}", f"has a damaged answer: {error}")]) from error

    def planned(self) -> tuple[str, ...]:
        """Return how it was to be melted by its latest plan; nothing where there is none.

        Raises
        ------
        InputError
            The plan is damaged.
        """
        steps = self.answer.data.get("steps") if self.answer else None
        if not steps:
            return ()
        try:
            window, given, charge = steps["window"], steps["given"], steps["charge"]
            size = f"{steps['volume']:.0f} cm3, {steps['thickness']:g} mm thick"
            if given["length"]:
                size = f"{given['length']:g} x {given['width']:g} x {given['thickness']:g} mm"
            grams = ", ".join(f"{name} {mass:.0f} g" for name, mass in charge["grams"])
            ways = "; ".join(f"{each['way']} {each['minutes']:.0f} min" for each in steps["heating"])
            wall = f", {given['material']} {given['wall']:g} mm" if given["material"] else ""
            heat = f"set to {window['typical']:.0f} °C, never above {window['high']:.0f} °C"
        except (LookupError, TypeError, ValueError) as error:
            raise InputError([Fault(f"entry {self.number}", f"has a damaged plan: {error}")]) from error
        return heat, f"{size}{wall}: {grams}", ways


@dataclass(frozen=True, slots=True)
class Check:
    """An instrument was tried on what is known.

    Parameters
    ----------
    instrument : str
        One of :data:`resinid.record.instruments.INSTRUMENTS`.
    name : str
        Which one, where there are several.
    shown, true : float
        What it showed and what it should have [canonical unit].
    u : float
        Standard uncertainty of what it should have shown.
    at : str
    """

    instrument: str
    name: str
    shown: float
    true: float
    u: float = 0.0
    at: str = ""


def lot_of(entries: Mapping[int, Entry], number: int) -> set[int]:
    """Return an entry, all it was made from, and all that was made from it."""
    found = {number}
    for forwards in (False, True):
        ends = {number}
        while ends:
            found |= ends
            ends = (
                {each.number for each in entries.values() if ends & set(each.made_from)}
                if forwards
                else {part for end in ends for part in entries[end].made_from}
            ) - found
    return found
