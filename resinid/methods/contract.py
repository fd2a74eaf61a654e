"""What a method is: the contract between an evidence plug-in and the engine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Protocol, runtime_checkable

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.liquids import Liquid
    from resinid.methods.bench import Bench
    from resinid.methods.test_plan import TestPlan
    from resinid.scoring.term import Term

__all__ = ["InBath", "Method", "Observation", "Plannable"]


@runtime_checkable
class Observation(Protocol):
    """One test done on a piece, with its raw readings.

    A test is a frozen dataclass whose fields are declared with
    :mod:`resinid.io.fields`, so that it can be read from what people write.
    """

    test: ClassVar[str]
    """Name of the test, as written in ``test = "..."``."""

    observes: ClassVar[Any]
    """The property or aspect it observes: a core one by its name, or what the method brings along.

    It is one of :data:`resinid.scoring.properties.Observable`. A type checker that were told so would refuse a class
    that declares a narrower one, since a class attribute may be set; :func:`resinid.testing.check_method` checks it.
    """

    # A test that says nothing of the piece itself (a mark, the kind of article) has the class
    # attribute ``clears_heating = False``: alone it never clears a piece for heating. Nor does a plug-in's test,
    # unless the caller trusts it by name.
    # A test of which an outcome forbids heating whatever the piece is (chlorine or bromine was found)
    # has a method ``forbids_heating()``, which returns why, or an empty text.
    # A test that is off until a person allows its danger also has the class attribute
    # ``only_if_allowed``, the name of that danger, such as "burn".

    def term(self) -> Term:
        """Return the likelihood of the readings for the engine."""

    def describe(self) -> str:
        """Return the readings in one short line."""


@runtime_checkable
class Plannable(Protocol):
    """What a test class adds to the contract if it is to be recommended; one that lacks it declines."""

    @classmethod
    def plans(cls, bench: Bench) -> Iterable[TestPlan]:
        """Yield each way to do the test with what is at hand, with its possible outcomes."""


@runtime_checkable
class InBath(Protocol):
    """What a test class adds to the contract if it can be done in a bath of any density, mixed for it."""

    @classmethod
    def in_bath(cls, jug: Liquid) -> TestPlan:
        """Return the test in one jug of liquid; its outcomes in rising order of density."""


@dataclass(frozen=True, slots=True)
class Method:
    """A kind of evidence: one or more tests with a common cause of error and danger.

    Parameters
    ----------
    name : str
        Short name, unique among the methods in use.
    version : str
        Version of the method.
    summary : str
        What it does, in one sentence.
    caution : str
        What can hurt, and the usual caution; empty where nothing can.
    sources : tuple of str
        Keys in the table's sources, or full references.
    tests : tuple of type
        The tests it offers, each an :class:`Observation`.
    tools : tuple of str, optional
        What a person may say to have at the bench for it, such as ``"acetone"``; plans look
        for these in :attr:`resinid.Bench.tools`.
    """

    name: str
    version: str
    summary: str
    caution: str
    sources: tuple[str, ...]
    tests: tuple[type[Observation], ...]
    tools: tuple[str, ...] = ()
