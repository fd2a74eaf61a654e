"""The guided bench driven by a pipe, killed, resumed."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import subprocess
import sys
import threading
import tomllib
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from typing import TYPE_CHECKING

import pytest
from cli_kit import BY_EYE, KIT, LIT, WITHOUT_BY_EYE

from resinid import Bench, identify, observe
from resinid.cli.asking import Screen, answered
from resinid.cli.document_files import write_whole
from resinid.cli.main import main
from resinid.cli.session import Session, load_session, save_session, toml_of
from resinid.errors import InputError
from resinid.io.document import read_document
from resinid.methods.offered import plans_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from typing import IO


def guided(lines: str, *options: str) -> subprocess.CompletedProcess[str]:
    """Run a session of which all answers are piped at once, in this process, as :class:`Driven` does in its own."""
    out, error = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(error):
        patch.setattr(sys, "stdin", io.StringIO(lines))
        code = main(["bench", *options])
    return subprocess.CompletedProcess(options, code, out.getvalue(), error.getvalue())


def observations(path: Path) -> list[dict[str, object]]:
    found: list[dict[str, object]] = tomllib.loads(path.read_text(encoding="utf-8"))["observation"]
    return found


class Talk:
    """A session answered prompt by prompt."""

    said = ""

    def __init__(self, typed: IO[str], heard: IO[str]) -> None:
        self.typed, self.heard = typed, heard

    def prompt(self) -> str:
        """Return what is said up to the next prompt."""
        heard = ""
        while not heard.endswith(" > "):
            letter = self.heard.read(1)
            assert letter, f"the session ended early: {heard[-500:]}"
            heard += letter
        self.said += heard
        return heard

    def answer(self, line: str) -> None:
        self.typed.write(f"{line}\n")
        self.typed.flush()

    def until(self, test: str, *, at_most: int = 12) -> str:
        """Ask for other tests until one is offered."""
        for _ in range(at_most):
            heard = self.prompt()
            if test in heard:
                return heard
            self.answer("other")
        raise AssertionError(f"{test!r} was not offered")

    def end(self) -> str:
        """End the input and return all that was said."""
        self.typed.close()
        return self.said + self.heard.read()


class Driven(Talk):
    """A session of a process of its own, at the other end of a pipe."""

    def __init__(self, *options: str) -> None:
        command = [sys.executable, "-u", "-m", "resinid", "bench", *options]
        # A run in the background ignores SIGINT and hands that on.
        before = signal.signal(signal.SIGINT, signal.SIG_DFL)
        try:
            self.process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
                encoding="utf-8",
            )
        finally:
            signal.signal(signal.SIGINT, before)
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        super().__init__(self.process.stdin, self.process.stdout)

    def end(self) -> str:
        rest, error = self.process.communicate(timeout=60)
        assert error == ""
        assert self.process.returncode == 0
        return self.said + rest


@contextmanager
def talk(*options: str) -> Iterator[Talk]:
    """Hold a session in this process, at the other end of a pipe, which is ended in any case."""
    (lines, typed), (heard, said) = os.pipe(), os.pipe()
    codes: list[int] = []
    error = io.StringIO()
    with (
        open(lines, encoding="utf-8") as stdin,  # noqa: PTH123 - because pathlib opens no pipes
        open(heard, encoding="utf-8") as hears,  # noqa: PTH123
        pytest.MonkeyPatch.context() as patch,
        redirect_stderr(error),
    ):
        patch.setattr(sys, "stdin", stdin)

        def run() -> None:
            with open(said, "w", encoding="utf-8", buffering=1) as out, redirect_stdout(out):  # noqa: PTH123
                codes.append(main(["bench", *options]))

        session = threading.Thread(target=run)
        with open(typed, "w", encoding="utf-8") as types:  # noqa: PTH123
            session.start()
            yield Talk(types, hears)
        session.join(60)
    assert codes == [0]
    assert error.getvalue() == ""


def test_a_session_by_pipe(tmp_path: Path) -> None:
    """Answers by word and by number, one that is none, "can't", "other", "undo", then the end of input."""
    path = tmp_path / "cap.toml"
    run = Driven("--save", str(path), "--have", KIT, "--piece", "green cap", "--question", "resin", *WITHOUT_BY_EYE)
    run.until("bend a strip 2 to 3 mm")
    run.answer("maybe")
    assert "Type one of the words or its number." in run.prompt()
    run.answer("semi")
    run.until("float a chip in water")
    run.answer("1")
    run.until("weigh the piece")
    run.answer("can't do that")
    run.until("fold a strip double")
    run.answer("snaps")
    assert [row["test"] for row in observations(path)] != []
    run.prompt()
    run.answer("undo")
    run.until("fold a strip double")
    run.answer("creases")
    run.prompt()
    said = run.end()
    for words in ("Left out from now on: weighing.", "Undone.", "Caution: Wear eye protection", "green cap: "):
        assert words in said
    assert all(len(line) <= 80 for line in said.splitlines() if str(path) not in line)
    assert [row["test"] for row in observations(path)] == ["feel", "float", "snap"]
    assert observations(path)[2]["outcome"] == "creases"
    assert main(["identify", str(path)]) == 0
    again = guided("", "--save", str(path))
    assert "Resumed with 3 answers." in again.stdout
    assert "Which resin is it?" in again.stdout
    assert load_session(path).declined == ((2, "weighing"),)


def test_all_lines_may_be_piped_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "piece.toml"
    monkeypatch.setattr(sys, "stdin", io.StringIO("floats\nundo\nsinks\n"))
    assert main(["bench", "--save", str(path), "--have", "", "--question", "melt group", *WITHOUT_BY_EYE]) == 0
    assert [row["outcome"] for row in observations(path)] == ["sinks"]


@pytest.mark.slow
def test_a_bath_is_mixed_measured_and_corrected(tmp_path: Path) -> None:
    """A jug off its recipe is told what to add; the float test is recorded in the jug as measured."""
    path = tmp_path / "piece.toml"
    run = Driven("--save", str(path), "--have", "ethanol 96 %v/v", "--question", "melt group", *LIT)
    run.until("float a chip in water")
    run.answer("floats")
    said = run.until("Mix 250 mL:")
    assert "Caution: FLAMMABLE" in said
    wanted = re.search(r"Enter if not \((\d\.\d+) g/cm3\)", said)
    assert wanted is not None
    target = float(wanted[1])
    run.answer("thick")
    run.prompt()
    run.answer("1.2000")
    assert "It cannot be corrected: ethanol 96 %v/v makes water lighter" in run.prompt()
    run.answer("")
    assert "density measured" in run.prompt()
    run.answer(f"{target + 0.02:.3f}")
    assert "To correct 250 mL add" in run.prompt()
    run.answer("")
    run.prompt()
    run.answer(f"{target + 0.001:.4f}")
    run.prompt()
    run.answer("sinks")
    run.prompt()
    run.end()
    answer = identify(read_document(path.read_text(encoding="utf-8")).observations)
    assert f"({target + 0.001:.4f} g/cm3)" in answer.observations[1].describe()


def test_a_jug_that_cannot_be_is_kept_only_where_insisted_on(tmp_path: Path) -> None:
    """A density no bath of the bottle has is a slip of the finger, unless typed "as it is"."""
    path = tmp_path / "piece.toml"
    kit = ("--have", "ethanol 96 %v/v", "--question", "melt group", *WITHOUT_BY_EYE, *LIT)
    done = guided("floats\n1.2000\nas it is\nsinks\nquit\n", "--save", str(path), *kit)
    assert done.returncode == 0, done.stderr
    liquid = observations(path)[1]["liquid"]
    assert isinstance(liquid, dict)
    assert liquid["density"]["value"] == pytest.approx(1.2, abs=1e-3)


def test_readings_are_asked_for_and_faults_told(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    lines = ["2.85 m", "", "2.85", "5.55 mm", "5.55 g", "-5", "5.41 g"]
    options = ("--have", "scale 0.1 g, sinker", "--without", "float", "--question", "melt group", *WITHOUT_BY_EYE)
    done = guided("\n".join(lines), "--save", str(path), *options)
    assert done.returncode == 0, done.stderr
    assert "in air [g] (5.02 g) >" in done.stdout
    assert "in_air is needed" in done.stdout
    first, rest = done.stdout.split("   sinker in liquid [g] (5.02 g) >", 1)
    assert "in_air: unit 'm' is not one of mass" in first, "each reading is complained of before the next is asked for"
    assert "sinker_in_liquid: unit 'mm' is not one of mass" in rest.split("   in liquid [", 1)[0]
    assert "in_liquid: -5 g is impossible" in rest
    assert "Try again" not in done.stdout, "no reading that was good is asked for twice"
    assert "recorded: 2.85 g in air" in done.stdout
    (weighing,) = observations(path)
    answer = identify(read_document(path.read_text(encoding="utf-8")).observations)
    assert weighing["test"] == "weighing"
    assert "0.95" in answer.observations[0].describe()


def only_marks() -> tuple[str, ...]:
    """Leave out every test but the look for a mark."""
    others = ("float", *(test for test in BY_EYE if test != "mark"))
    return ("--have", "", "--question", "resin", *(word for test in others for word in ("--without", test)))


@pytest.mark.parametrize(
    ("typed", "reads", "says"),
    [
        ("3", "3", "recorded: marked 3 (PVC)"),
        ("2", "2", "recorded: marked 2 (PE-HD)"),
        ("7", "7", "recorded: marked 7 (other)"),
        ("PP", "PP", "recorded: marked PP"),
        (">PP+EPDM-T20<", ">PP+EPDM-T20<", "recorded: marked >PP+EPDM-T20<"),
        ("none", "unmarked", "recorded: no mark"),
    ],
)
def test_a_mark_is_what_is_typed_and_no_place_in_a_list(typed: str, reads: str, says: str, tmp_path: Path) -> None:
    """A PVC pipe marked 3 was once recorded as HDPE, the third of a list that began with "no mark"."""
    path = tmp_path / "pipe.toml"
    done = guided(f"{typed}\nquit\n", "--save", str(path), *only_marks())
    assert done.returncode == 0, done.stderr
    assert says in done.stdout
    assert "2 marked 1" not in done.stdout
    (mark,) = observations(path)
    assert mark == {"test": "mark", "reads": reads}


def test_a_number_that_is_no_code_is_no_mark(tmp_path: Path) -> None:
    path = tmp_path / "pipe.toml"
    done = guided("8\n\n34\nquit\n", "--save", str(path), *only_marks())
    assert "'8' is no resin code" in done.stdout
    assert observations(path) == []


def test_what_was_recorded_is_said_and_a_slip_is_asked_about(tmp_path: Path) -> None:
    """A near miss is asked about and not taken; the list of many words stands on lines that fit."""
    path = tmp_path / "cap.toml"
    with talk("--save", str(path), "--have", KIT) as run:
        run.prompt()
        run.answer("other article")
        assert "24 other\n   word or number > " in run.prompt()
        run.answer("scrw cap")
        assert "did you mean 'screw cap'?" in run.prompt()
        run.answer("bottle")
        assert "did you mean 'drinks bottle' or 'milk or detergent bottle'?" in run.prompt().replace("\n  ", "")
        run.answer("screw")
        assert "recorded: article: screw cap" in run.prompt()
        said = run.end()
    assert all(len(line) <= 80 for line in said.splitlines() if str(path) not in line)


def test_a_bag_is_not_asked_to_be_bent_as_a_strip(tmp_path: Path) -> None:
    path = tmp_path / "bag.toml"
    with talk("--save", str(path), "--have", KIT) as run:
        run.prompt()
        run.answer("other article")
        run.prompt()
        run.answer("film or bag")
        heard = " ".join(run.prompt().split())
        assert "recorded: article: film or bag left out: tests that need a flat face or a long strip or" in heard
        run.answer("other feel")
        assert "No test 'feel' is offered now" in run.prompt()
        run.answer("undo")
        run.prompt()
        run.answer("other feel")
        assert "bend a strip 2 to 3 mm" in run.prompt()
        run.end()


def test_a_test_may_be_asked_for_by_name(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    with talk("--save", str(path), "--have", KIT) as run:
        run.prompt()
        run.answer("other weighing")
        assert "weigh the piece" in run.prompt()
        run.answer("Other  Surface Feel")
        assert "rub the clean surface" in run.prompt()
        run.answer("other weihging")
        heard = " ".join(run.prompt().split())
        assert "No test 'weihging' is offered now; offered: " in heard
        assert "did you mean 'weighing'?" in heard
        run.answer("waxy")
        run.prompt()
        run.end()
    assert [row["test"] for row in observations(path)] == ["surface_feel"]


@pytest.mark.skipif(os.name != "posix", reason="signals are sent another way there")
@pytest.mark.parametrize("kept", [True, False])
def test_an_interrupted_session_says_whether_it_is_saved(tmp_path: Path, *, kept: bool) -> None:
    path = tmp_path / "piece.toml"
    run = Driven("--have", KIT, *(("--save", str(path)) if kept else ()))
    run.prompt()
    run.process.send_signal(signal.SIGINT)
    _, error = run.process.communicate(timeout=60)
    assert run.process.returncode == 130
    assert (f"Saved in {path}." in error) == kept
    assert ("Not saved" in error) != kept


@pytest.mark.slow
def test_killed_in_mid_session_nothing_is_lost(tmp_path: Path) -> None:
    """Kill -9 after the third answer, before any end of input: all three are in the file, which is whole."""
    path = tmp_path / "piece.toml"
    run = Driven("--save", str(path), "--have", KIT)
    for test, answer in (
        ("bend a strip 2 to 3 mm", "semi-rigid"),
        ("float a chip in water", "floats"),
        ("weigh the piece", "can't"),
        ("fold a strip double", "creases"),
    ):
        run.until(test)
        assert path.exists(), "the file is there before the first answer"
        run.answer(answer)
    run.prompt()
    os.kill(run.process.pid, signal.SIGKILL)
    run.process.communicate(timeout=60)
    assert run.process.returncode == -signal.SIGKILL
    assert [row["test"] for row in observations(path)] == ["feel", "float", "snap"]
    assert [entry.name for entry in tmp_path.iterdir()] == ["piece.toml"], "no half-written file is left"
    resumed = guided("quit", "--save", str(path))
    assert "Resumed with 3 answers." in resumed.stdout
    assert "At hand: water, table salt, ethanol 96 %v/v" in resumed.stdout, "the options are kept as well"


@pytest.mark.slow
def test_stops_when_settled_and_goes_on_when_told(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    options = ("--have", "scale 0.01 g, sinker, strip", "--question", "melt group", "--save", str(path))
    run = Driven(*options)
    for test, *answers in (
        ("bend a strip 2 to 3 mm", "semi-rigid"),
        ("float a chip in water", "floats"),
        ("weigh the piece", "2.85 g", "5.55 g", "5.41 g"),
    ):
        run.until(test)
        for index, answer in enumerate(answers):
            if index:
                run.prompt()
            run.answer(answer)
    assert "Press Enter to finish" in run.prompt()
    run.answer("")
    assert "Settled: polyethylene has" in run.end()
    more = Driven(*options)
    more.prompt()
    more.answer("more")
    more.until("fold a strip double")
    more.answer("creases")
    more.prompt()
    more.end()
    assert len(observations(path)) == 4


def test_json_goes_to_standard_output_and_questions_to_standard_error() -> None:
    done = guided("rigid\nundo\nundo\nquit\n", "--json", "--have", KIT)
    assert done.returncode == 0
    assert json.loads(done.stdout)["ranking"]
    assert "There is nothing to undo." in done.stderr


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--have", "tabel salt"), "Did you mean 'table salt'"),
        (("--question", "melt"), "no question is called 'melt'"),
        (("--question", "a=XX"), "no resin is called 'XX'"),
        (("--allow", "fire"), "'fire' is no danger known here"),
        (("--save", "/nowhere/at/all.toml"), "cannot be written"),
    ],
)
def test_bad_options_are_told_before_anything_is_asked(
    options: tuple[str, ...], says: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("rigid\n"))
    assert main(["bench", *options]) == 2
    told = capsys.readouterr()
    assert says in told.err
    assert ">" not in told.out


def test_a_file_written_by_hand_is_not_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    for text, says in (
        ('[[observation]]\ntest = "snap"\noutcome = "snaps"\n', "was not written by resinid bench"),
        ("#: resinid bench {broken\nobservation = []\n", "is damaged"),
        ('#: resinid bench {"format": 99, "declined": []}\nobservation = []\n', "another version"),
    ):
        path.write_text(text, encoding="utf-8")
        assert main(["bench", "--save", str(path)]) == 2
        assert says in capsys.readouterr().err
        assert path.read_text(encoding="utf-8") == text


def test_a_file_is_there_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write that fails half way leaves the old file as it was and nothing beside it."""
    path = tmp_path / "piece.toml"
    save_session(Session(piece="old"), path)

    def fails(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fails)
    with pytest.raises(InputError, match="No space left"):
        write_whole(path, "new")
    assert load_session(path).piece == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["piece.toml"]


def test_texts_survive_the_file(tmp_path: Path) -> None:
    """Names with quotes, control characters and letters of any script come back as they were."""
    path = tmp_path / "piece.toml"
    for name in ('a "cap"\\', "line\nbreak\ttab", "ž 🙂 \x7f\x01"):
        save_session(Session(piece=name, settings={"question": name}), path)
        assert load_session(path).piece == name
        assert load_session(path).settings["question"] == name
    with pytest.raises(TypeError):
        toml_of(None)


def test_a_question_explains_itself(tmp_path: Path) -> None:
    """``?`` and ``help`` say what is asked and what each answer means, and record nothing."""
    path = tmp_path / "piece.toml"
    with talk("--save", str(path), "--have", KIT, "--question", "resin", *WITHOUT_BY_EYE) as run:
        run.until("float a chip in water")
        for word in ("?", "help"):
            run.answer(word)
            said = run.prompt()
            assert "Asked: float a chip in water" in said
            lines = [line.strip() for line in said.splitlines()]
            for line in (
                "1 floats: let go under the surface, it rises to the top",
                "2 hovers: it stays where it is let go, for some seconds at least",
                "3 sinks: it goes to the bottom",
            ):
                assert line in lines
            assert "Type one of the words" not in said
        run.answer("swims")
        said = run.prompt()
        assert "did you mean 'floats'?" in said
        assert "did you mean 'sinks'" not in said
        run.answer("floats")
        run.until("weigh the piece")
        run.answer("?")
        said = " ".join(run.prompt().split())
        assert "a number without a unit is taken in g" in said
        assert [row["test"] for row in observations(path)] == ["float"]
        run.end()


def test_a_bare_temperature_takes_the_unit_of_the_prompt() -> None:
    """It was once refused for want of a unit; where a document has none it still is."""
    plans = {plan.test: plan for plan in plans_of(Bench(tools=("DSC",)))}
    out = io.StringIO()
    made = answered(plans["glass_transition"], Screen(io.StringIO("?\n102 m\n102\n"), out))
    assert made == observe("glass_transition", temperature="102 degC")
    said = out.getvalue()
    assert "[degC]" in said
    assert "taken in degC" in " ".join(said.split())
    assert "unit 'm' is not one of" in said
    with pytest.raises(InputError, match="has no unit"):
        observe("glass_transition", temperature="102")


@pytest.mark.slow
def test_a_session_ends_with_a_short_answer_unless_asked_for_all() -> None:
    """The verdict first, in twenty lines at most, local codes among them; what is held back is counted."""
    typed = "other hot plate\nother float in water\nfloats\nquit\n"
    short, full = guided(typed), guided(typed, "--full")
    assert short.returncode == full.returncode == 0
    assert "it is done, held back, or needs what is not at hand: type why" in " ".join(short.stdout.split())
    ending = short.stdout[short.stdout.rindex("Heating: ") :]
    assert len(ending.splitlines()) <= 20
    assert "local codes" in ending
    assert "Most likely to settle it" in ending
    assert "by itself" in full.stdout
    assert "by itself" not in short.stdout


@pytest.mark.slow
def test_what_is_not_offered_is_told_when_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    run = Driven("--save", str(path), *WITHOUT_BY_EYE)
    first = run.prompt()
    before = first.split("Which resin is it?")[0]
    assert before.count("Not offered") == 1
    assert "type why for all reasons" in " ".join(before.split())
    run.answer("why")
    assert "  - step a hot plate" in run.prompt()
    run.end()
    assert "step a hot plate" not in before
    assert "  - step a hot plate" in guided("", "--full", *WITHOUT_BY_EYE).stdout


def test_a_prior_in_a_saved_file_lifts_no_hazard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All said to be PET, and as dense as PET and PVC are: neither `identify` nor a resumed session gives leave."""
    path = tmp_path / "piece.toml"
    seen = {"test": "density", "density": "1.38 ± 0.005 g/cm3"}
    save_session(Session(observations=(seen,), settings={"prior": {"PET": 1}}), path)
    assert main(["identify", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["ranking"][0]["resin"] == "PET"
    assert told["heat"]["allowed"] is False
    assert any("cautious prior" in why for why in told["heat"]["reasons"])
    resumed = guided("quit", "--save", str(path))
    assert "NOT YET" in resumed.stdout
    assert "cautious prior" in resumed.stdout
