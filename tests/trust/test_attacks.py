"""Files and arguments that do harm by size, depth or kind end in one message, soon; each case did otherwise once."""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from leave_bench import Bench, frame_of
from specimens import KINDS, draw

from resinid import (
    Batch,
    InputError,
    ResinidError,
    Result,
    default_reference,
    identify,
    identify_file,
    identify_table,
    load_reference,
    observe,
)
from resinid.cli.main import main
from resinid.cli.session import Session, load_session, save_session
from resinid.heating.evidence import forbidding
from resinid.reference.files import own_folder

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SEEN: Final = [{"test": "density", "density": "0.95 ± 0.01 g/cm3"}]
DENSITY: Final = '[[observation]]\ntest = "density"\ndensity = "0.95 ± 0.01 g/cm3"\n'
SAID: Final = {
    "a mark that is no text": ('[[observation]]\ntest = "mark"\nreads = inf\n', "inf is no mark"),
    "a deep dotted key": (".".join(['"a\\\\\\"b"'] * 20_000) + " = 1\n", "nested too deeply"),
    "a deep list": ("a = " + "[" * 200_000, "is not TOML"),
    "many weights": ("[prior]\n" + "".join(f"x{i} = 1\n" for i in range(20_000)) + DENSITY, "at most 1000 are read"),
    "a number in base sixteen": (
        f"[[observation]]\ntest = 'density'\ndensity = 0x{'f' * 4000}\n",
        "thousands of digits",
    ),
    "a huge file": ("#" * 17_000_000, "is longer than 16000000 bytes"),
}


@pytest.mark.parametrize("case", SAID)
def test_a_file_that_does_harm_ends_in_a_message(case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, said = SAID[case]
    file = tmp_path / "piece.toml"
    file.write_text(text, encoding="utf-8")
    assert main(["identify", str(file)]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
def test_a_pipe_or_a_device_is_not_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Neither waits for a writer that never comes nor reads for ever."""
    os.mkfifo(tmp_path / "pipe")
    for name in (str(tmp_path / "pipe"), "/dev/zero"):
        assert main(["identify", name]) == 2
        assert "is a pipe or a device" in capsys.readouterr().err


ESCAPE: Final = "\x1b[31m"


@pytest.mark.parametrize(
    "arguments", [["identify", f"{ESCAPE}x.toml"], ["identify", f"--{ESCAPE}x", "-"], [f"{ESCAPE}x"], ["rows", ESCAPE]]
)
def test_what_was_typed_is_repeated_without_signs_that_steer_a_terminal(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        code = main(arguments)
    except SystemExit as left:
        code = int(left.code or 0)
    assert code == 2
    assert "\x1b" not in capsys.readouterr().err


def test_keys_of_a_file_are_repeated_without_signs_that_steer_a_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "piece.toml"
    file.write_text('[prior]\n"\\u001b]0;x\\u0007" = 1\n' + DENSITY, encoding="utf-8")
    assert main(["identify", str(file)]) == 2
    assert not {"\x1b", "\x07"} & set(capsys.readouterr().err)


CALLS: Final[dict[str, Callable[[], object]]] = {
    "an array of no dimension": lambda: identify(SEEN, allow=np.array(1.0)),
    "too long a list": lambda: identify(SEEN, allow=range(10**12)),  # type: ignore[arg-type]
    "a name too long for a folder": lambda: load_reference("9" * 5000),
}


@pytest.mark.parametrize("case", CALLS)
def test_arguments_that_are_no_lists_or_folders_are_refused(case: str) -> None:
    with pytest.raises(ResinidError):
        CALLS[case]()


@pytest.mark.parametrize(
    ("test", "field"),
    [("density", "density"), ("shore_d", "hardness"), ("mark", "reads"), ("infrared", "bands"), ("feel", "outcome")],
)
def test_a_number_of_thousands_of_digits_is_refused(test: str, field: str) -> None:
    """By itself, in a list and in a table of a value and its unit: Python writes no whole number so long."""
    huge: Any = 10**5000
    for value in (huge, [huge], {"value": huge, "unit": "g/cm3"}):
        with pytest.raises(ResinidError):
            identify([{"test": test, field: value}])
    with pytest.raises(ResinidError, match="article"):
        Batch.of("b", article=huge)


def test_a_damaged_answer_is_refused() -> None:
    """With a list where a table belongs in what is scored, and in any other field if it is not ignored."""
    data = json.loads(identify(SEEN).to_json())
    refused = set()
    for name in data:
        try:
            Result.from_json(json.dumps({**data, name: [1]}))
        except ResinidError:
            refused.add(name)
    assert refused >= {"ranking", "observations", "no_data", "variants", "heat", "danger_limit"}


def test_of_two_sessions_on_one_file_one_says_so(tmp_path: Path) -> None:
    """The file holds the one that wrote first, whole; the other's answer is told as not saved."""
    path = tmp_path / "cap.toml"
    one = save_session(Session("cap"), path)
    other = save_session(Session("cap"), path)
    assert one == other
    save_session(Session("cap", (SEEN[0],)), path, one)
    with pytest.raises(InputError, match="another session"):
        save_session(Session("lid"), path, other)
    assert load_session(path).observations == (SEEN[0],)


def test_a_plug_in_takes_back_nothing_that_our_own_test_forbids() -> None:
    """A green copper wire forbids heating, also where a class built on it says otherwise."""
    kind = type(observe("copper_wire", outcome="green", allow=["copper wire"]))
    quiet = type("Quiet", (kind,), {"test": "quiet", "forbids_heating": lambda _: ""})
    assert forbidding([quiet("green")])
    assert not forbidding([quiet("no green")])


def test_a_copy_of_a_resin_that_is_said_to_be_harmless_clears_nothing(tmp_path: Path) -> None:
    """PVC copied under another name, its hazards left out, and held for certain: none of a hundred pieces gets leave.

    Hazard is judged by the cautious prior as well, in which a resin that was added is as common as a middling one.
    """
    for name in ("resins", "variants", "properties", "behaviour"):
        head, *lines = (own_folder() / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        copied = [line.replace("PVC-U,", "COPY,", 1).replace("uPVC PVC", "") for line in lines]
        text = "\n".join([head, *(line for line in copied if line.startswith("COPY,"))])
        (tmp_path / f"{name}.csv").write_text(f"{text}\n", encoding="utf-8")
    hazards = "applies_to,hazard,onset_degC,limits_melt,bar,caution,never_with,source,locator,obtained,note"
    (tmp_path / "hazards.csv").write_text(f"{hazards}\nCOPY,none known,,no,no,none,,,,memory,\n", encoding="utf-8")
    table = default_reference().extended(tmp_path)
    rng = np.random.default_rng(5)
    pieces = [Bench(draw(rng, KINDS["PVC-U"])) for _ in range(100)]
    for piece in pieces:
        piece.cold()
        piece.hot()
    frame = identify_table(
        frame_of([piece.done for piece in pieces]), reference=table, prior={"COPY": 1.0}, errors="raise"
    )
    assert (frame["COPY"] > 0.9).mean() > 0.9, "it is taken for the copy"
    assert frame["do_not_heat"].all()


def test_of_two_runs_to_one_target_one_says_so(tmp_path: Path) -> None:
    """While one run reads its source, another to the same target is refused; the target is of the first alone."""
    sources = []
    for name, density in (("a", "0.95"), ("b", "1.38")):
        source = tmp_path / f"{name}.csv"
        row = f"{density},0.01\n"
        source.write_text("density.density [g/cm3],density.density_u [g/cm3]\n" + row * 3, encoding="utf-8")
        sources.append(source)
    target = tmp_path / "out.csv"

    def during(rows: int, _: float) -> None:
        assert rows == 3
        with pytest.raises(InputError, match="another run is writing it"):
            identify_file(sources[1], target)

    assert identify_file(sources[0], target, progress=during).rows == 3
    alone = tmp_path / "alone.csv"
    identify_file(sources[0], alone)
    assert target.read_bytes() == alone.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.csv", "alone.csv", "b.csv", "out.csv"]


def test_kept_cells_that_a_spreadsheet_would_run_are_told(tmp_path: Path) -> None:
    """Cells stay as they are, for they are kept to the letter; numbers with a sign are no formulas."""
    source = tmp_path / "a.csv"
    source.write_text("id,shelf,snap.outcome\n=1+1,-5,snaps\nb,+7,snaps\n", encoding="utf-8")
    done = identify_file(source, tmp_path / "out.csv", keep=["id", "shelf"])
    assert [note for note in done.notes if "formulas" in note] == [
        "id: some cells begin as formulas do; have a spreadsheet read the column as text"
    ]
    assert (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[1].startswith("=1+1,-5,")


def test_a_source_that_is_no_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "zero.csv").symlink_to("/dev/zero")
    with pytest.raises(InputError, match="is no plain file"):
        identify_file(tmp_path / "zero.csv", tmp_path / "out.csv")
