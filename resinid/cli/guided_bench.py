"""The guided bench: asks, explains, saves after each answer, and leads to the next test.

Reads plain lines, so that it runs in any terminal and can be driven by a pipe; the end
of input ends the session in order.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from resinid.cli.asking import OTHER, WHY, Command, Screen, answered
from resinid.cli.document_files import file_to_write
from resinid.cli.record_command import learned_of, noted, recording
from resinid.cli.session import Session, load_session, save_session
from resinid.errors import Fault, InputError
from resinid.io.close_words import did_you_mean
from resinid.methods._guard import describe
from resinid.methods.bench import Bench
from resinid.methods.bench_parser import parse_bench
from resinid.methods.registry import listed
from resinid.methods.shapes import shapes_lacked
from resinid.planning.names import check_tests
from resinid.planning.next_test import next_tests
from resinid.planning.question import parse_question
from resinid.report.advice_report import held_back_line, standing_lines, suggestion_parts, verdict_line, withheld_part
from resinid.report.text import text_of, wrapped

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from resinid.identification.result import Result
    from resinid.planning.advice import Advice, Suggestion
    from resinid.record.learn import LearnedPrior
    from resinid.reference.table import ReferenceTable

__all__ = ["guided"]

HELP: Final = "Answer, or type ? (what is asked), can't, other (test), other NAME (that test),\nundo or quit."
ENDING: Final = (
    "Enter ends the session and prints the answer so far; more goes on with the next test, where there is one; undo "
    "takes back the last answer."
)


def guided(chosen: argparse.Namespace, reference: ReferenceTable) -> tuple[str, Any]:
    """Run a session to its end; return the result as text and as JSON types."""
    from resinid.report.piece_report import result_text, short_text

    if sys.stdin is None:
        raise InputError([Fault("standard input", "is closed; the answers are read from it")])
    screen = Screen(sys.stdin, sys.stderr if chosen.json else sys.stdout)
    path = None if chosen.save is None else file_to_write(chosen.save, "--save")
    session = _opened(chosen, path)
    check_tests(chosen.without, _bench(session))
    with recording(chosen, reference) as record:
        learned = learned_of(record, chosen, session.settings.get("prior"))
        guide = _Guide(screen, reference, session, path, chosen.trust, learned=learned, full=chosen.full)
        try:
            result = guide.run()
        except KeyboardInterrupt:
            kept = path is not None and path.exists()
            said = f"Saved in {path}." if kept else "Not saved; name a file with --save to keep what is answered."
            print(f"\n{said}", file=sys.stderr, flush=True)
            raise
        if path:
            screen.say(f"Saved in {path}.\n")
        text = result_text(result, reference, 8) if chosen.full else short_text(result, reference)
        if record is None:
            return text, result.to_dict()
        number = record.add_result(result, learned=learned is not None, article=chosen.article, source=chosen.source)
        return noted(record, number, text, result.to_dict(), learned)


class _Guide:
    """One session: what was answered, and which of the suggestions is on the screen."""

    def __init__(
        self,
        screen: Screen,
        reference: ReferenceTable,
        session: Session,
        path: Path | None,
        trusted: Iterable[str],
        *,
        learned: LearnedPrior | None,
        full: bool,
    ) -> None:
        self._full = full
        self._screen, self._table, self._path, self._trusted = screen, reference, path, tuple(trusted)
        self._session, self._learned = session, learned
        self._written: str | None = None
        self._skipped = 0
        self._more = False

    def run(self) -> Result:
        """Lead through tests until the person or the advice stops."""
        say = self._screen.say
        # Every fault of the options is told before anything is saved.
        advice = _advice(self._session, self._table, self._trusted, self._learned)
        self._keep(self._session)
        say(wrapped(f"At hand: {_bench(self._session).describe()}."))
        if reasons := text_of([withheld_part(advice, "type why for all reasons")], full=self._full):
            say(reasons)
        say(HELP)
        if self._session.observations:
            say(f"Resumed with {len(self._session.observations)} answers.")
        going = True
        while going:
            say("\n" + text_of(standing_lines(advice), gap="\n"))
            try:
                going = self._step(advice)
            except Command as command:
                going = self._obey(str(command), advice)
            advice = _advice(self._session, self._table, self._trusted, self._learned)
        return advice.result

    def _keep(self, session: Session) -> None:
        """Take over a session and save it, before anything else is asked."""
        self._session = session
        if self._path:
            self._written = save_session(session, self._path, self._written)

    def _step(self, advice: Advice) -> bool:
        """Do one test; return whether to go on."""
        if advice.stop and not self._more:
            self._screen.say(text_of([verdict_line(advice), held_back_line(advice)], gap="\n"))
            more = " type more to go on," if advice.suggestions else ""
            self._more = self._screen.ask(f"Press Enter to finish,{more} or undo >", wrapped(ENDING)).lower() == "more"
        if (advice.stop and not self._more) or not advice.suggestions:
            return False
        found = self._shown(advice)
        test = suggestion_parts(found, f"{len(self._session.observations) + 1}. ", advice)
        self._screen.say("\n" + text_of(test, gap="\n"))
        made = answered(found.plan, self._screen)
        self._keep(self._session.observed(made))
        self._screen.say(wrapped(f"recorded: {describe(made)}", "   ", "   "))
        if gone := shapes_lacked([made]):
            self._screen.say(wrapped(f"left out: tests that need a {' or a '.join(sorted(gone))}", "   ", "   "))
        self._skipped = 0
        return True

    def _shown(self, advice: Advice) -> Suggestion:
        return advice.suggestions[self._skipped % len(advice.suggestions)]

    def _obey(self, word: str, advice: Advice) -> bool:
        """Do what a command says; return whether to go on."""
        if word == "quit":
            return False
        if word.startswith(OTHER):
            self._turn(word.removeprefix(OTHER).strip(), advice)
            return True
        if word == WHY:
            reasons = text_of([withheld_part(advice, "")])
            self._screen.say(reasons or "All tests that what is at hand allows are offered.")
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

    def _turn(self, name: str, advice: Advice) -> None:
        """Turn to the next of the tests, or to the one that is named."""
        if not name:
            self._skipped += 1
            return
        keys = [_plain(found.plan.key) for found in advice.suggestions]
        tests = [_plain(found.plan.test) for found in advice.suggestions]
        wanted = _plain(name)
        if wanted in keys or wanted in tests:
            self._skipped = keys.index(wanted) if wanted in keys else tests.index(wanted)
            self._more = True  # who asks for a test wants to go on
            return
        offered = ", ".join(keys) or "none"
        if wanted in {_plain(test.test) for entry in listed() for test in entry.method.tests}:
            near = "; it is done, held back, or needs what is not at hand: type why"
        else:
            near = did_you_mean(name, keys)
        self._screen.say(wrapped(f"No test {name!r:.100} is offered now; offered: {offered}{near}"))


def _plain(name: str) -> str:
    """Return the name of a test as people type it."""
    return name.replace("_", " ").lower()


def _opened(chosen: argparse.Namespace, path: Path | None) -> Session:
    given = {
        name: value
        for name in ("bench", "question", "enough", "allow", "without", "prior")
        if (value := getattr(chosen, name)) is not None and value != []
    }
    old = load_session(path) if path and path.exists() else Session()
    return replace(old, piece=chosen.piece or old.piece, settings={**old.settings, **given})


def _bench(session: Session) -> Bench:
    text = session.settings.get("bench")
    return Bench() if text is None else parse_bench(text)


def _advice(
    session: Session, reference: ReferenceTable, trusted: tuple[str, ...], learned: LearnedPrior | None
) -> Advice:
    settings = session.settings

    def advised(prior: str | Mapping[str, float]) -> Advice:
        return next_tests(
            session.observations,
            bench=_bench(session),
            question=parse_question(settings.get("question")),
            enough=settings.get("enough"),
            allow=settings.get("allow", ()),
            without=(*settings.get("without", ()), *(key for _, key in session.declined)),
            prior=prior,
            reference=reference,
            trusted=trusted,
        )

    advice = advised(settings.get("prior") or (learned.shares if learned else "default"))
    if learned:
        judged = learned.judged(advice.result, reference=reference, trusted=trusted)
        if judged.heat.allowed != advice.result.heat.allowed:  # leave, and what is said of it, learn nothing
            advice = advised(learned.given)
        advice = replace(advice, result=judged)
    return replace(advice, result=replace(advice.result, piece=session.piece))
