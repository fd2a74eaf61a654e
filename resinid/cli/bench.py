"""The guided bench: asks, explains, saves after each answer, and leads to the next test.

Reads plain lines, so that it runs in any terminal and can be driven by a pipe; the end
of input ends the session in order.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, TextIO

from resinid.cli.files import file_to_write
from resinid.cli.planning import question_of_text
from resinid.cli.session import Session, load, save
from resinid.cli.show_plan import standing_text, suggestion_text, withheld_text, wrapped
from resinid.door.fields import quantity_of, rules_of, unbuild
from resinid.door.liquid import parse_liquid
from resinid.errors import Fault, InputError, ResinidError
from resinid.liquids.correcting import correct
from resinid.liquids.mixing import FLASH
from resinid.methods.guard import made_of
from resinid.planning.have import Have, parse_have
from resinid.planning.names import check_tests
from resinid.planning.next_test import next_tests

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from resinid.liquids.liquid import Liquid
    from resinid.liquids.mixing import Recipe
    from resinid.methods.contract import Observation
    from resinid.planning.advice import Advice, Suggestion
    from resinid.planning.plan import Plan
    from resinid.result import Result
    from resinid.table.table import Table

__all__ = ["guided"]

HELP: Final = "Answer, or type can't (do that), other (test), undo or quit."
CANNOT: Final = ("can't", "cant", "cannot", "can not", "can't do that", "skip")
OFF: Final = 0.003
"""[g/cm3] A jug farther from its recipe than this is worth correcting (common practice, no source)."""


class _Command(Exception):  # noqa: N818 - because it is no error: what was typed is a command, not an answer
    """A command typed in place of an answer."""


@dataclass(frozen=True, slots=True)
class _Screen:
    """Where is asked and answered."""

    lines: TextIO
    out: TextIO

    def say(self, text: str) -> None:
        print(text, file=self.out, flush=True)

    def ask(self, prompt: str) -> str:
        """Return a line; raise :class:`_Command` where it is a command, or the input ended."""
        print(prompt, end=" ", file=self.out, flush=True)
        line = self.lines.readline()
        if not line:
            print(file=self.out)
            raise _Command("quit")
        if not self.lines.isatty():
            print(file=self.out)
        word = line.strip()
        if word.lower() in CANNOT:
            raise _Command("can't")
        if word.lower() in {"other", "undo", "quit"}:
            raise _Command(word.lower())
        return word


def guided(chosen: argparse.Namespace, table: Table) -> tuple[str, Any]:
    """Run a session to its end; return the result as text and as JSON types."""
    from resinid.cli.show import result_text

    if sys.stdin is None:
        raise InputError([Fault("standard input", "is closed; the answers are read from it")])
    screen = _Screen(sys.stdin, sys.stderr if chosen.json else sys.stdout)
    path = None if chosen.save is None else file_to_write(chosen.save, "--save")
    session = _opened(chosen, path)
    check_tests(chosen.without, _have(session))
    guide = _Guide(screen, table, session, path)
    result = guide.run()
    if path:
        screen.say(f"Saved in {path}.\n")
    return result_text(result, table, 8), result.to_dict()


class _Guide:
    """One session: what was answered, and which of the suggestions is on the screen."""

    def __init__(self, screen: _Screen, table: Table, session: Session, path: Path | None) -> None:
        self._screen, self._table, self._path = screen, table, path
        self._session = session
        self._skipped = 0
        self._more = False

    def run(self) -> Result:
        """Lead through tests until the person or the advice stops."""
        say = self._screen.say
        advice = _advice(self._session, self._table)  # every fault of the options is told before anything is saved
        self._keep(self._session)
        say(wrapped(f"At hand: {_have(self._session).describe()}."))
        for reason in withheld_text(advice):
            say(reason)
        say(HELP)
        if self._session.observations:
            say(f"Resumed with {len(self._session.observations)} answers.")
        going = True
        while going:
            say("\n" + standing_text(advice))
            try:
                going = self._step(advice)
            except _Command as command:
                going = self._obey(str(command), advice)
            advice = _advice(self._session, self._table)
        return advice.result

    def _keep(self, session: Session) -> None:
        """Take over a session and save it, before anything else is asked."""
        self._session = session
        if self._path:
            save(session, self._path)

    def _step(self, advice: Advice) -> bool:
        """Do one test; return whether to go on."""
        if advice.stop and not self._more:
            self._screen.say(wrapped(f"{advice.verdict.capitalize()}: {advice.reason}."))
            more = " type more to go on," if advice.suggestions else ""
            self._more = self._screen.ask(f"Press Enter to finish,{more} or undo >").lower() == "more"
        if (advice.stop and not self._more) or not advice.suggestions:
            return False
        found = self._shown(advice)
        self._screen.say("\n" + suggestion_text(found, f"{len(self._session.observations) + 1}. "))
        self._keep(self._session.observed(_answered(found.plan, self._screen)))
        self._skipped = 0
        return True

    def _shown(self, advice: Advice) -> Suggestion:
        return advice.suggestions[self._skipped % len(advice.suggestions)]

    def _obey(self, word: str, advice: Advice) -> bool:
        """Do what a command says; return whether to go on."""
        if word == "quit":
            return False
        if word == "other":
            self._skipped += 1
            return True
        if word == "undo":
            before = self._session.undone()
            self._screen.say("Undone." if before else "There is nothing to undo.")
            self._keep(before or self._session)
            self._more = False
        elif advice.suggestions:
            key = self._shown(advice).plan.key
            self._screen.say(f"Left out from now on: {key}.")
            self._keep(self._session.without(key))
        self._skipped = 0
        return True


def _opened(chosen: argparse.Namespace, path: Path | None) -> Session:
    given = {
        name: value
        for name in ("have", "question", "enough", "allow", "without", "prior")
        if (value := getattr(chosen, name)) is not None and value != []
    }
    old = load(path) if path and path.exists() else Session()
    return replace(old, piece=chosen.piece or old.piece, settings={**old.settings, **given})


def _have(session: Session) -> Have:
    text = session.settings.get("have")
    return Have() if text is None else parse_have(text)


def _advice(session: Session, table: Table) -> Advice:
    settings = session.settings
    advice = next_tests(
        session.observations,
        have=_have(session),
        question=question_of_text(settings.get("question")),
        enough=settings.get("enough"),
        allow=settings.get("allow", ()),
        without=(*settings.get("without", ()), *(key for _, key in session.declined)),
        prior=settings.get("prior") or "default",
        table=table,
    )
    return replace(advice, result=replace(advice.result, piece=session.piece))


def _answered(plan: Plan, screen: _Screen) -> Observation:
    """Ask until a plan's outcome is understood."""
    changed = {"liquid": _mixed(plan.recipe, screen)} if plan.recipe is not None else {}
    kind = type(plan.outcomes[0])
    while True:
        try:
            if plan.asks:
                fixed = {key: value for key, value in unbuild(plan.outcomes[0]).items() if key not in plan.asks}
                return made_of(kind, {**fixed, **changed, **_readings(plan, screen)})
            made = _chosen(plan, screen)
            return made_of(type(made), {**unbuild(made), **changed})
        except InputError as error:
            screen.say(f"That cannot be used:\n{error}\nTry again.")


def _chosen(plan: Plan, screen: _Screen) -> Observation:
    """Ask which of a plan's outcomes in words was seen."""
    words = [str(getattr(made, "outcome", made.describe())) for made in plan.outcomes]
    shown = " / ".join(f"{index} {word}" for index, word in enumerate(words, start=1))
    while True:
        answer = screen.ask(f"   {shown} >").lower()
        if answer.isdecimal() and 1 <= int(answer) <= len(words):
            return plan.outcomes[int(answer) - 1]
        like = [index for index, word in enumerate(words) if answer and word.lower().startswith(answer)]
        if len(like) == 1:
            return plan.outcomes[like[0]]
        screen.say("   Type one of the words or its number.")


def _readings(plan: Plan, screen: _Screen) -> dict[str, object]:
    """Ask for a plan's readings; an empty line leaves one out."""
    rules = rules_of(type(plan.outcomes[0]))
    found: dict[str, object] = {}
    for name in plan.asks:
        quantity = quantity_of(rules[name])
        example = f" ({quantity.example})" if quantity else ""
        answer = screen.ask(f"   {name.replace('_', ' ')}{example} >")
        if answer:
            found[name] = answer
    return found


def _mixed(recipe: Recipe, screen: _Screen) -> Liquid:
    """Ask how dense the jug came out; say what to add where it is off."""
    bath = recipe.liquid
    while True:
        answer = screen.ask(f"   density measured, or Enter if not ({bath.density:.4f} g/cm3) >")
        if not answer:
            return bath
        try:
            measured = parse_liquid({"hydrometer": answer, "temperature": f"{bath.temperature} ± 1 degC"})
        except ResinidError as error:
            screen.say(f"   {error}")
            continue
        measured = replace(measured, label=bath.label, caution=bath.caution)
        if abs(measured.density - bath.density) <= OFF:
            return measured
        try:
            add = correct(
                measured.density,
                recipe.volume,
                bath.density,
                recipe.reagent,
                temperature=bath.temperature,
                allow=(FLASH,),  # whether such a bath may be mixed was decided before
            ).add
        except InputError as error:
            # Most likely a slip of the finger, so it is not taken without a word.
            why = "; ".join(fault.message for fault in error.faults)
            screen.say(wrapped(f"No bath of {recipe.reagent} has that density: {why}.", "   ", "   "))
            if screen.ask("   Enter to measure again, or type as (it is) >").lower().startswith("as"):
                return measured
            continue
        screen.say(wrapped(f"To correct {recipe.volume:.0f} mL add {add}, then measure again.", "   ", "   "))
        if screen.ask("   Enter when corrected, or type as (it is) >").lower().startswith("as"):
            return measured
