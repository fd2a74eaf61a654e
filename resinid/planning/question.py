"""The question that matters: which resin, which group that melts together, or only "is it PVC?"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Fault, Faults, InputError, UnknownNameError, place_of, safe_repr
from resinid.heating.temperatures import barred_resins
from resinid.io.arguments import as_names
from resinid.io.close_words import did_you_mean
from resinid.io.reading import is_real
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.reference.table import ReferenceTable


__all__ = ["ASKED", "ENOUGH", "QUESTIONS", "Question", "parse_question", "question_of"]

ASKED: Final = MappingProxyType(
    {
        "heat": "May it be heated?",
        "resin": "Which resin is it?",
        "melt group": "Which group does it melt with?",
        "pvc": "Is it PVC?",
    }
)
"""The questions known by name, as a person asks them."""

QUESTIONS: Final = tuple(ASKED)

HAZARDOUS: Final = "must not be heated"

ENOUGH: Final = 0.90
"""Probability at which an answer counts as settled (this project's choice, as for
heating in :mod:`resinid.heating.verdict`)."""

OTHER: Final = "other"
"""The answer that stands for the resins in none of a person's own."""

SURE: Final = 0.99
"""The same for "it is not PVC", where a wrong answer releases hydrogen chloride: the
complement of the danger limit of :mod:`resinid.heating.verdict`."""

PVC: Final = ("PVC-U", "PVC-P")
"""The kinds of poly(vinyl chloride): one answer to each question but "resin", since neither may be heated."""

CURED: Final = "does not melt"
"""The answer that stands for the cross-linked resins, which have no melt at all (their ``kind`` in resins.csv)."""


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is asked of a piece: a partition of the candidates.

    Parameters
    ----------
    name : str
        What is asked.
    answers : tuple of str
        The possible answers.
    answer_of : numpy.ndarray
        For each resin and last "none of these", the index of its answer.
    enough : tuple of float
        For each answer, the probability at which it counts as settled.
    """

    name: str
    answers: tuple[str, ...]
    answer_of: NDArray[np.intp]
    enough: tuple[float, ...]

    def gather(self, by_resin: Array) -> Array:
        """Return sums over the resins of each answer; resins in the last axis."""
        out: Array = by_resin @ np.eye(len(self.answers))[self.answer_of]
        return out

    def settled(self, probability: Array) -> NDArray[np.bool_]:
        """Return whether some answer is probable enough; answers in the last axis."""
        return np.asarray((probability >= np.array(self.enough) - 1e-12).any(axis=-1))


def question_of(
    reference: ReferenceTable, question: str | Mapping[str, Iterable[str]] = "resin", enough: float | None = None
) -> Question:
    """Return the question asked of the resins of a table.

    Parameters
    ----------
    reference : ReferenceTable
    question : str or mapping, optional
        ``"heat"`` (which resin, where all that must not be heated are one answer), ``"resin"``,
        ``"melt group"`` (those of the table, melt_groups.csv), ``"pvc"``, or your own
        answers, each with its resins; resins in none of them are "other", and what the table
        does not list is "none of these", so no answer of yours may be called that.
    enough : float, optional
        Probability at which an answer counts as settled; :data:`ENOUGH` if not given,
        and :data:`SURE` for "not PVC".

    Raises
    ------
    UnknownNameError
        No such question.
    InputError
        An answer of your own with a name that is taken or no text, without resins, or with an
        unknown resin or one that is in another answer, too.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> question_of(default_reference(), "pvc").answers
    ('PVC', 'not PVC')
    """
    if enough is not None and not (is_real(enough) and 0.5 < enough < 1.0):
        raise InputError([Fault("enough", f"is {safe_repr(enough, 50)}; give a probability between 0.5 and 1")])
    if not isinstance(question, str):
        if not isinstance(question, Mapping):
            what = "is neither the name of a question nor answers with their resins"
            raise InputError(
                [Fault("question", f"{safe_repr(question)} {what}; write for example {{'PVC': ['PVC-U']}}")]
            )
        return _made("your question", _own(question, reference), reference, enough, rest=OTHER)
    if question == "heat":
        barred = barred_resins(reference)
        groups = {symbol: (symbol,) for symbol, bar in zip(reference.symbols, barred, strict=True) if not bar}
        return _made(question, groups, reference, enough, rest=HAZARDOUS)
    if question == "resin":
        return _made(question, {symbol: (symbol,) for symbol in reference.symbols}, reference, enough)
    if question == "melt group":
        return _made(question, _melt_groups(reference), reference, enough)
    if question == "pvc":
        made = _made(
            question, _known({"PVC": PVC}, reference.symbols), reference, enough, rest="not PVC", unlisted="not PVC"
        )
        return replace(made, enough=(made.enough[0], enough or SURE))
    known = f"{', '.join(QUESTIONS)}, or a mapping of answers to resins"
    raise UnknownNameError(
        f"no question is called {safe_repr(question)}; known: {known}{did_you_mean(question, QUESTIONS)}"
    )


def _own(question: Mapping[str, Iterable[str]], reference: ReferenceTable) -> dict[str, tuple[str, ...]]:
    """Return the answers a person gave, their resins by symbol."""
    faults = Faults()
    groups: dict[str, tuple[str, ...]] = {}
    seen: set[str] = set()
    for name, members in question.items():
        place = place_of("question", name)
        wrong = _misnamed(name)
        if wrong:
            faults.add(place, wrong)
        found = []
        for member in _members(members, place, faults):
            try:
                symbol = reference.resin(member).symbol
            except UnknownNameError as error:
                faults.add(place, str(error))
                continue
            if symbol in seen:
                faults.add(place, f"{symbol} is in two answers; a piece has one")
            seen.add(symbol)
            found.append(symbol)
        groups[name] = tuple(found)
    if not groups:
        faults.add("question", "names no answer; give at least one with its resins")
    faults.check()
    return groups


def _misnamed(name: object) -> str:
    """Return why an answer cannot be called that; nothing where it can."""
    if not isinstance(name, str) or not name.strip():
        return "is no name of an answer; give it one, such as 'bottles'"
    if name.strip().casefold() in {OTHER, NONE_OF_THESE}:
        return "is what resins that are in no answer, or not in the table, are called; give yours another name"
    return ""


def _members(members: object, place: str, faults: Faults) -> tuple[str, ...]:
    try:
        names = (members,) if isinstance(members, str) else as_names(place, members, "PP")
    except InputError as error:
        faults.extend(error.faults)
        return ()
    if not names:
        faults.add(place, "has no resin; name at least one, or leave the answer out")
    return names


def _known(groups: Mapping[str, Iterable[str]], symbols: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    return {name: tuple(member for member in members if member in symbols) for name, members in groups.items()}


def _melt_groups(reference: ReferenceTable) -> dict[str, tuple[str, ...]]:
    """Return the table's melt groups, PVC, the cross-linked resins, and every other resin by itself."""
    groups = _known({group.name: group.members for group in reference.melt_groups}, reference.symbols)
    cured = tuple(resin.symbol for resin in reference.resins if resin.kind == "crosslinked")
    grouped = {symbol for members in groups.values() for symbol in members}
    others = {"PVC": PVC, CURED: cured, **{symbol: (symbol,) for symbol in reference.symbols}}
    for name, members in others.items():
        groups[name] = (*groups.get(name, ()), *(s for s in members if s in reference.symbols and s not in grouped))
        grouped.update(groups[name])
    return {name: members for name, members in groups.items() if members}


def _made(
    name: str,
    groups: Mapping[str, tuple[str, ...]],
    reference: ReferenceTable,
    enough: float | None,
    *,
    rest: str = "",
    unlisted: str = NONE_OF_THESE,
) -> Question:
    answers = list(groups)
    of = {symbol: answers.index(group) for group, members in groups.items() for symbol in members}
    if any(symbol not in of for symbol in reference.symbols):
        answers.append(rest)
        of |= {symbol: len(answers) - 1 for symbol in reference.symbols if symbol not in of}
    if unlisted not in answers:
        answers.append(unlisted)
    index = np.array([*(of[symbol] for symbol in reference.symbols), answers.index(unlisted)])
    return Question(name, tuple(answers), index, (ENOUGH if enough is None else enough,) * len(answers))


def parse_question(text: str | None) -> str | dict[str, list[str]]:
    """Return the question that was written: a name, or answers with their resins.

    Examples
    --------
    >>> parse_question("soft=EVA TPU; hard=PC")
    {'soft': ['EVA', 'TPU'], 'hard': ['PC']}
    """
    if not text:
        return "heat"
    if "=" not in text:
        return text
    groups: dict[str, list[str]] = {}
    for part in filter(None, (piece.strip() for piece in text.split(";"))):
        name, equals, members = part.partition("=")
        if not equals or not name.strip() or not members.split():
            raise InputError([Fault("question", f"{part!r:.100} is not 'answer=RESIN RESIN'")])
        groups[name.strip()] = members.replace(",", " ").split()
    return groups
