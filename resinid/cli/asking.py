"""Asking at the guided bench: the lines of a session, and a test's outcome out of what is typed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TextIO

from resinid.cli.meanings import meaning_of
from resinid.cli.options import unit_shown, with_unit
from resinid.errors import Fault, InputError, ResinidError
from resinid.io.build import unbuild
from resinid.io.close_words import did_you_mean
from resinid.io.fields import field_rules, options_of, quantity_of, required_fields
from resinid.io.liquid_parser import ROOM, parse_liquid
from resinid.liquids.correcting import correct
from resinid.liquids.flash import FLASH, is_small
from resinid.methods._guard import build_observation
from resinid.methods.registry import is_built_in
from resinid.report.text import wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.io.fields import FieldRule
    from resinid.liquids.liquid import Liquid
    from resinid.liquids.mixing import Recipe
    from resinid.methods.contract import Observation
    from resinid.methods.test_plan import TestPlan

__all__ = ["OTHER", "WHY", "Command", "Screen", "answered"]

CANNOT: Final = ("can't", "cant", "cannot", "can not", "can't do that", "skip")
OTHER: Final = "other"
WHY: Final = "why"
EXPLAIN: Final = ("?", "help")
COMMANDS: Final = "Or type can't (it cannot be done), other (another test), undo, why (what is not offered) or quit."
WIDE: Final = 76
"""[characters] A longer list stands on lines of its own above the prompt."""

OFF: Final = 0.003
"""[g/cm3] A jug farther from its recipe than this is worth correcting (common practice, no source)."""

JUG: Final = (
    "Mix the bath, let it settle, and read a hydrometer, or weigh a known volume and divide: 250 mL that weigh 267.5 g "
    "have 1.070. Type that number; Enter takes the recipe's, which is less sure."
)
AS: Final = "Enter asks for the density again; as takes the jug as it was measured, without correcting it."

AGAIN: Final = "Type one of the words or its number."
WORDS_ONLY: Final = "Type one of the words."


class Command(Exception):  # noqa: N818 - because it is no error: what was typed is a command, not an answer
    """A command typed in place of an answer."""


@dataclass(frozen=True, slots=True)
class Screen:
    """Where is asked and answered."""

    lines: TextIO
    out: TextIO

    def say(self, text: str) -> None:
        """Print a text."""
        print(text, file=self.out, flush=True)

    def ask(self, prompt: str, explained: str) -> str:
        """Return a line; raise :class:`Command` where it is a command, or the input ended.

        Who types ``?`` is told what is asked, and asked again.
        """
        while (word := self._line(prompt)).lower() in EXPLAIN:
            self.say(f"{explained}\n{wrapped(COMMANDS, '   ', '   ')}")
        if word.lower() in CANNOT:
            raise Command("can't")
        if word.lower() in {OTHER, WHY, "undo", "quit"} or word.lower().startswith(f"{OTHER} "):
            raise Command(" ".join(word.lower().split()))
        return word

    def _line(self, prompt: str) -> str:
        print(prompt, end=" ", file=self.out, flush=True)
        line = self.lines.readline()
        if not line:
            print(file=self.out)
            raise Command("quit")
        if not self.lines.isatty():
            print(file=self.out)
        return line.strip()


def answered(plan: TestPlan, screen: Screen) -> Observation:
    """Ask until a plan's outcome is understood."""
    changed = {"liquid": _mixed(plan.recipe, screen)} if plan.recipe is not None else {}
    kind = type(plan.outcomes[0])
    written = _written(plan)
    while True:
        try:
            if plan.asks:
                fixed = {key: value for key, value in unbuild(plan.outcomes[0]).items() if key not in plan.asks}
                return build_observation(kind, {**fixed, **changed, **_readings(plan, screen)})
            if written:
                typed = {written: _typed(plan, written, screen)}
                return build_observation(kind, {**unbuild(plan.outcomes[0]), **changed, **typed})
            made = _chosen(plan, screen)
            return build_observation(type(made), {**unbuild(made), **changed})
        except InputError as error:
            screen.say(f"That cannot be used:\n{error}\nTry again.")


def _written(plan: TestPlan) -> str:
    """Return the field that is typed as it stands, such as a mark; empty where a word is chosen from a list.

    A place in a list would there be taken for what stands on the piece: 3 for the mark 2.
    """
    kind = type(plan.outcomes[0])
    if plan.asks or not is_built_in(kind):
        return ""
    entries = [unbuild(made) for made in plan.outcomes]
    rules = field_rules(kind)
    varied = [name for name in rules if any(entry.get(name) != entries[0].get(name) for entry in entries)]
    return varied[0] if len(varied) == 1 and not options_of(rules[varied[0]]) else ""


def _typed(plan: TestPlan, name: str, screen: Screen) -> str:
    asked = wrapped(f"Type {field_rules(type(plan.outcomes[0]))[name].expects()}.", "   ", "   ")
    screen.say(asked)
    return screen.ask(f"   {plan.test.replace('_', ' ')} >", f"{_steps(plan)}\n{asked}")


def _steps(plan: TestPlan) -> str:
    return "\n".join(wrapped(part, "   ", "   ") for part in (f"Asked: {plan.label}.", *plan.steps))


def _explained(plan: TestPlan, words: Sequence[str], *, numbered: bool) -> str:
    """Return what a question asks, and each possible answer on a line with what it means."""
    lines = [_steps(plan)]
    for index, word in enumerate(words, start=1):
        meaning = meaning_of(plan.test, word)
        name = f"{index} {word}" if numbered else word
        lines.append(wrapped(f"{name}: {meaning}" if meaning else name, "   ", "     "))
    return "\n".join(lines)


def _chosen(plan: TestPlan, screen: Screen) -> Observation:
    """Ask which of a plan's outcomes in words was seen."""
    words = [str(getattr(made, "outcome", made.describe())) for made in plan.outcomes]
    # Where the words hold digits themselves, a number typed may mean one of those and not a place in the list.
    numbered = not any(letter.isdigit() for word in words for letter in word)
    shown = " / ".join(f"{index} {word}" if numbered else word for index, word in enumerate(words, start=1))
    explained = _explained(plan, words, numbered=numbered)
    prompt = f"   {shown} >"
    if len(shown) > WIDE:
        whole = shown.replace(" ", "\u00a0").replace("\u00a0/\u00a0", " / ")  # no line ends within an answer
        screen.say(wrapped(whole, "   ", "   "))
        prompt = "   word or number >" if numbered else "   word >"
    while True:
        try:
            answer = screen.ask(prompt, explained).lower()
        except Command as command:
            if numbered and str(command) == OTHER and OTHER in words:
                screen.say(f"   That asks for another test; the answer {OTHER!r} is number {words.index(OTHER) + 1}.")
            raise
        if numbered and answer.isdecimal() and 1 <= int(answer) <= len(words):
            return plan.outcomes[int(answer) - 1]
        place = _place(answer, words)
        if place is not None:
            return plan.outcomes[place]
        screen.say(f"   {AGAIN if numbered else WORDS_ONLY}")
        meant = _meant(answer, words)
        if meant:
            screen.say(wrapped(f"{answer!r:.40} is none of them; {meant}", "   ", "   "))


def _place(answer: str, words: Sequence[str]) -> int | None:
    """Return which word was typed: a whole one, else the only one that begins so.

    Examples
    --------
    >>> _place("blue", ["blue with yellow tip", "blue"]), _place("y", ["yes", "no"]), _place("", ["yes"])
    (1, 0, None)
    """
    small = [word.lower() for word in words]
    if answer in small:
        return small.index(answer)
    like = [index for index, word in enumerate(small) if answer and word.startswith(answer)]
    return like[0] if len(like) == 1 else None


def _meant(answer: str, words: Sequence[str]) -> str:
    """Return a question after the words that may be meant; empty where none is near.

    Examples
    --------
    >>> _meant("scrw cap", ["screw cap", "pipe"]), _meant("cap", ["screw cap", "pipe"]), _meant("zzz", ["pipe"])
    ("did you mean 'screw cap'?", "did you mean 'screw cap'?", '')
    """
    within = [word for word in words if len(answer) > 1 and answer in word.lower()]
    if within:
        return f"did you mean {' or '.join(map(repr, within[:4]))}?"
    return did_you_mean(answer, words).removeprefix("; ")


def _readings(plan: TestPlan, screen: Screen) -> dict[str, object]:
    """Ask for a plan's readings, each again until it can be read; an empty line leaves one out that may be."""
    kind = type(plan.outcomes[0])
    rules, needed = field_rules(kind), required_fields(kind)
    found: dict[str, object] = {}
    for name in plan.asks:
        answer = _reading(name, rules[name], screen, needed=name in needed, steps=_steps(plan))
        if answer:
            found[name] = answer
    return found


def _reading(name: str, rule: FieldRule, screen: Screen, *, needed: bool, steps: str) -> str:
    quantity = quantity_of(rule)
    unit = unit_shown(quantity) if quantity else ""
    shown = f"{name.replace('_', ' ')}{f' [{unit}]' if unit else ''}{f' ({quantity.example})' if quantity else ''}"
    bare = f"; a number without a unit is taken in {unit}" if unit else ""
    left = "" if needed else "; press Enter to leave it out"
    explained = f"{steps}\n{wrapped(f'{name}: type {rule.expects()}{bare}{left}.', '   ', '   ')}"
    while True:
        answer = screen.ask(f"   {shown} >", explained)
        answer = with_unit(answer, quantity) if quantity else answer
        if not answer and needed:
            screen.say(wrapped(f"{name} is needed; type it, or can't", "   ", "   "))
            continue
        if not answer or quantity is None:  # what a plug-in reads by a rule of its own is asked with the whole
            return answer
        try:
            rule.parse(answer)
        except InputError as error:
            for fault in error.faults:
                screen.say(wrapped(str(Fault(name, fault.message)), "   ", "   "))
            continue
        return answer


def _mixed(recipe: Recipe, screen: Screen) -> Liquid:
    """Ask how dense the jug came out; say what to add where it is off."""
    bath = recipe.liquid
    while True:
        answer = screen.ask(
            f"   density measured [g/cm3], or Enter if not ({bath.density:.4f} g/cm3) >", wrapped(JUG, "   ", "   ")
        )
        if not answer:
            return bath
        try:
            measured = parse_liquid({"hydrometer": answer, "temperature": f"{bath.temperature} ± 1 degC"})
        except ResinidError as error:
            screen.say(f"   {error}")
            continue
        measured = replace(measured, label=bath.label, caution=bath.caution, flash=bath.flash)
        if abs(measured.density - bath.density) <= OFF:
            return measured
        try:
            add = correct(
                measured.density,
                recipe.volume,
                bath.density,
                recipe.reagent,
                temperature=bath.temperature,
                # Whether such a bath may be mixed was decided before; a small jug stays one.
                allow=() if is_small(recipe.volume, bath.temperature, ROOM.u) else (FLASH,),
                scale=recipe.parts[0].scale,
                cylinder=recipe.parts[0].cylinder,
            ).add
        except InputError as error:
            # Most likely a slip of the finger, so it is not taken without a word.
            why = "; ".join(fault.message for fault in error.faults)
            screen.say(wrapped(f"It cannot be corrected: {why}.", "   ", "   "))
            if _as_it_is(screen, "to measure again"):
                return measured
            continue
        screen.say(wrapped(f"To correct {recipe.volume:.0f} mL add {add}, then measure again.", "   ", "   "))
        if _as_it_is(screen, "when corrected"):
            return measured


def _as_it_is(screen: Screen, enter: str) -> bool:
    return screen.ask(f"   Enter {enter}, or type as (it is) >", wrapped(AS, "   ", "   ")).lower().startswith("as")
