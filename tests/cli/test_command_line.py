"""The command line as a person and as a script use it."""

from __future__ import annotations

import io
import json
import os
import shlex
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from resinid.cli.guide_command import EXAMPLES as EXAMPLES_OF
from resinid.cli.main import main
from resinid.cli.overview import OVERVIEW, OVERVIEW_COLUMNS

EXAMPLE = Path(__file__).parents[2] / "examples" / "green_cap.toml"


def run(*arguments: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
    """Run a command in this process, wherever it leaves."""
    out, error = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(error):
        patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin.encode()), encoding="utf-8"))
        try:
            code = main(arguments)
        except SystemExit as left:
            code = int(left.code or 0)
    return subprocess.CompletedProcess(arguments, code, out.getvalue(), error.getvalue())


def test_identify_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["identify", str(EXAMPLE)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Heating: may be melted from 155 to ")
    assert "green screw cap: polyethylene" in out
    assert "local codes" in out
    assert len(out.splitlines()) <= 20
    assert all(len(line) <= 80 for line in out.splitlines())
    assert main(["identify", str(EXAMPLE), "--full"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Heating: may be melted from 155 to ")
    assert "green screw cap: polyethylene 97.1%, most likely PE-HD" in out
    assert "Sources (" in out
    assert all(len(line) <= 80 for line in out.splitlines())


def test_short_answers_are_short_and_leave_out_no_verdict(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """However much there is to say: twenty lines, the verdict first, local codes among them, the rest with --full."""
    seen = [{"test": "density", "density": f"{x} ± 0.002 g/cm3"} for x in (0.905, 1.05, 1.4, 0.96)]
    seen += [
        {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
        {"test": "mark", "reads": ">PP-FR(17)<"},
    ]
    path = tmp_path / "piece.json"
    for many in range(len(seen) + 1):
        path.write_text(json.dumps({"piece": "a lid" * 9, "observation": seen[:many]}), encoding="utf-8")
        assert main(["identify", str(path)]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert len(lines) <= 20
        assert lines[0].startswith("Heating: ")
        assert any("local codes" in line for line in lines)


def test_json_for_scripts(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["identify", str(EXAMPLE), "--json", "--prior", "uniform"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["ranking"][0]["resin"] == "PE-HD"
    assert data["ranking"][0]["prior"] == data["ranking"][1]["prior"]


def test_standard_input() -> None:
    command = [sys.executable, "-m", "resinid", "identify", "-", "--json"]
    done = subprocess.run(
        command, input=EXAMPLE.read_text(encoding="utf-8"), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0
    assert json.loads(done.stdout)["piece"] == "green screw cap"


def test_lists(capsys: pytest.CaptureFixture[str]) -> None:
    for arguments, word in (
        (["methods"], "float test"),
        (["resins"], "PE-HD"),
        (["sources"], "tanaka_2001"),
        (["liquid", "ethanol", "40", "%v/v"], "0.9480"),
    ):
        assert main(arguments) == 0
        text = capsys.readouterr().out
        assert word in text
        assert main([*arguments, "--json"]) == 0
        assert json.loads(capsys.readouterr().out)
        if arguments[0] != "sources":  # web addresses may be longer than a line
            assert all(len(line) <= 80 for line in text.splitlines())


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", ["is empty"]),
        ("[[observation]]\ntest='float'\nliquid='water'\noutcome='flaots'", ["observation[1].outcome", "did you mean"]),
        ("[[observation]]\ntest = 'density'\ndensity = '0.95 g'", ["observation[1].density", "is not one of density"]),
        ("[[observation]]\ntest = 'density'\ndensity = '0.95 blorg'", ["is not known"]),
        ("[[observation]]\ntest = 'density'\ndensity = 'nan g/cm3'", ["not a number"]),
        ("[[observation]]\ntest = 'density'\ndensity = '42 g/cm3'", ["impossible"]),
        ("[[observation]]\ntest='weighing'\nin_air='-5 g'\nin_liquid='1 g'\nliquid='water'", ["impossible for a mass"]),
        ("[[observation]]\ntest = 'density'\ndensty = '0.95 g/cm3'", ["did you mean 'density'", "density: is missing"]),
        ("[prior]\nHPDE = 1.0\n[[observation]]\ntest = 'snap'\noutcome = 'snaps'", ["no resin is called 'HPDE'"]),
        ("prior = 'munich'\n[[observation]]\ntest = 'snap'\noutcome = 'snaps'", ["no prior is called"]),
        ('{"observation": [{"test": "density", "density": NaN}]}', ["NaN"]),
    ],
)  # fmt: skip
def test_bad_input_is_one_message_and_exit_2(
    text: str, says: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "piece.toml"
    file.write_text(text, encoding="utf-8")
    assert main(["identify", str(file)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("resinid: ")
    assert "Traceback" not in captured.err
    assert all(part in captured.err for part in says), captured.err


def test_unreadable_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "latin.toml").write_bytes("piece = 'Stück'".encode("latin-1"))
    for name, says in (("missing.toml", "cannot be read"), (".", "cannot be read"), ("latin.toml", "UTF-8")):
        assert main(["identify", str(tmp_path / name)]) == 2
        assert says in capsys.readouterr().err


def test_all_faults_are_listed_with_their_places(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "piece.toml"
    file.write_text(
        "[[observation]]\ntest='float'\nliquid='watr'\noutcome='x'\n[[observation]]\ntest='snap'\noutcome='y'",
        encoding="utf-8",
    )
    assert main(["identify", str(file)]) == 2
    err = capsys.readouterr().err
    assert "3 faults" in err
    assert all(place in err for place in ("observation[1].liquid", "observation[1].outcome", "observation[2].outcome"))


def test_a_sheet_overwrites_nothing_it_should_not(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Neither the piece's own document, by whatever name, nor a folder or pipe; a link is written through."""
    piece, page = tmp_path / "cap.toml", tmp_path / "sheet.html"
    text = EXAMPLE.read_text(encoding="utf-8")
    piece.write_text(text, encoding="utf-8")
    (tmp_path / "link.toml").symlink_to(piece)
    (tmp_path / "hard.toml").hardlink_to(piece)
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    for name, says in (
        ("cap.toml", "is the file that is read"),
        ("folder/../cap.toml", "is the file that is read"),
        ("link.toml", "is the file that is read"),
        ("hard.toml", "is the file that is read"),
        ("folder", "it is no file"),
        ("pipe", "it is no file"),
        ("", "is no name of a file"),
    ):
        assert main(["sheet", str(piece), "-o", str(tmp_path / name) if name else ""]) == 2, name
        assert says in capsys.readouterr().err
    assert piece.read_text(encoding="utf-8") == text
    assert (tmp_path / "pipe").is_fifo()
    (tmp_path / "link.html").symlink_to(page)
    for _ in range(2):  # once where the link leads to nothing yet
        assert main(["sheet", str(piece), "-o", str(tmp_path / "link.html")]) == 0
        assert (tmp_path / "link.html").is_symlink()
        assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
        page.write_text("<!DOCTYPE html> old", encoding="utf-8")
    capsys.readouterr()
    assert main(["sheet", str(piece), "-o", "-"]) == 0
    assert capsys.readouterr().out.startswith("<!DOCTYPE html>")


def test_rows_and_sessions_write_through_links_and_over_no_pipe(tmp_path: Path) -> None:
    """The other commands that write files keep to the same."""
    source, real = tmp_path / "bags.csv", tmp_path / "real.csv"
    source.write_text("float.liquid,float.outcome\nwater,floats\n", encoding="utf-8")
    real.write_text("old", encoding="utf-8")
    (tmp_path / "out.csv").symlink_to(real)
    assert main(["rows", str(source), str(tmp_path / "out.csv")]) == 0
    assert (tmp_path / "out.csv").is_symlink()
    assert real.read_text(encoding="utf-8").startswith("resin_1,")
    os.mkfifo(tmp_path / "pipe.csv")
    assert main(["rows", str(source), str(tmp_path / "pipe.csv")]) == 2
    assert (tmp_path / "pipe.csv").is_fifo()
    for name in ("", "-"):
        assert "is no name of a file" in run("bench", "--save", name, stdin="").stderr


@pytest.mark.slow
@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_letters_that_the_output_lacks_are_written_by_number(encoding: str) -> None:
    """Whatever a terminal or file can hold, there is an answer; JSON stays JSON."""
    environment = {**os.environ, "PYTHONIOENCODING": encoding}
    document = 'piece = "Žižka ♲"\n[[observation]]\ntest = "snap"\noutcome = "snaps"\n'.encode()
    for form in ((), ("--json",)):
        command = [sys.executable, "-m", "resinid", "identify", "-", *form]
        done = subprocess.run(command, input=document, capture_output=True, check=False, env=environment)
        assert done.returncode == 0, done.stderr
        text = done.stdout.decode(encoding)
        assert not form or json.loads(text)["piece"] == "Žižka ♲"
    wrong = subprocess.run(
        [sys.executable, "-m", "resinid", "identify", "♲.toml"], capture_output=True, check=False, env=environment
    )
    assert wrong.returncode == 2
    assert b"cannot be read" in wrong.stderr


@pytest.mark.skipif(os.name != "posix", reason="streams are closed another way there")
@pytest.mark.parametrize(
    ("command", "says"),
    [
        ("identify - <&-", "standard input: is closed"),
        ("bench <&-", "standard input: is closed"),
        ("methods >&-", "standard output is closed"),
    ],
)
def test_closed_streams_are_told(command: str, says: str) -> None:
    line = f"{shlex.quote(sys.executable)} -m resinid {command}"
    done = subprocess.run(["/bin/sh", "-c", line], capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stderr
    assert says in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (["identify", "{cap}", "--allow", "hotplate"], "did you mean 'hot plate'"),
        (["identify", "{allows}"], "did you mean 'hot plate'"),
        (["rows", "{cap}", "out.csv", "--allow", "hotplate"], "did you mean 'hot plate'"),
        (["recipe", "1.07 g/cm3", "table salt", "--allow", "flamable bath"], "did you mean 'flammable bath'"),
        (["ladder", "PP", "PS", "--allow", "flamable bath"], "did you mean 'flammable bath'"),
        (["next", "--without", "flaot"], "did you mean 'float'"),
        (["next", "--have", "table salt", "--without", "float in table sal"], "did you mean 'float in table salt'"),
        (["next", "--have", "acetonne"], "did you mean 'acetone'"),
        (["next", "--have", "sinkr, cylindr 1 mL"], "did you mean 'cylinder'"),
        (["identify", "{jug}"], "neither a jug of this document nor a liquid; did you mean 'alcohol'"),
        (["recipe", "1.07 g/cm3", "table salt", "--measured", "1.4 g/cm3"], "measured: 1.4 g/cm3"),
        (["liquid", "brine"], "amount: is missing"),
        (["liquid", "ethanol", "40,5", "%v/v"], "use a point for decimals"),
    ],
)
def test_what_is_misspelt_is_told(
    command: list[str], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No danger, test, tool or jug that is not known is passed over, and the nearest one is named."""
    cap = EXAMPLE.read_text(encoding="utf-8")
    jug = '[liquid.alcohol]\ndensity = "0.95 g/cm3"\n[[observation]]\ntest = "float"\nliquid = "alchol"\n'
    files = {"cap": cap, "allows": f'allow = ["hotplate"]\n{cap}', "jug": f'{jug}outcome = "floats"\n'}
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert main([part.format(**{name: str(tmp_path / name) for name in files}) for part in command]) == 2
    assert says in capsys.readouterr().err


def test_a_wrong_prior_is_told_with_the_other_faults(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The prior of a document has its place, and does not hide what else is wrong."""
    file = tmp_path / "piece.toml"
    file.write_text('prior = "bogus"\n[[observation]]\ntest = "snap"\noutcome = "snips"\n', encoding="utf-8")
    for command in ("identify", "next", "sheet"):
        assert main([command, str(file)]) == 2
        error = capsys.readouterr().err
        assert f"{file}: prior: no prior is called 'bogus'" in error
        assert f"{file}: observation[1].outcome: 'snips' is not one of" in error
        assert main([command, str(file), "--prior", "uniform"]) == 2
        assert "bogus" not in capsys.readouterr().err


def test_help_has_single_per_cent_signs_and_says_what_may_be_at_hand() -> None:
    for command, says in (("liquid", "40 %v/v"), ("recipe", "96 %v/v"), ("next", "cylinder 1 mL")):
        done = run(command, "--help")
        assert says in " ".join(done.stdout.split())
        assert "%%" not in done.stdout


def test_each_commands_help_ends_with_an_example() -> None:
    """One of that command; a bag's keys come before it."""
    for command in EXAMPLES_OF:
        *_, last = run(command, "--help").stdout.strip().split("Example: ")
        assert " ".join(last.split()) == EXAMPLES_OF[command].replace("%%", "%")


def test_the_help_says_the_exit_codes() -> None:
    said = " ".join(OVERVIEW.split())
    assert "Exit codes: 0, answered; 2, bad input or usage" in said
    assert "130, interrupted." in said


def test_the_overview_is_what_the_parser_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is kept as a text so that ``resinid --help`` waits for nothing; where lines break is not compared."""
    monkeypatch.setenv("COLUMNS", str(OVERVIEW_COLUMNS))
    assert run("--help").stdout.split() == OVERVIEW.split()
    assert max(map(len, OVERVIEW.splitlines())) <= OVERVIEW_COLUMNS
    called = subprocess.run([sys.executable, "-m", "resinid", "--help"], capture_output=True, text=True, check=True)
    assert called.stdout == OVERVIEW


def test_the_words_of_every_outcome_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """So that nobody has to make a mistake to learn them; those of a method's tests beside its name."""
    assert main(["methods"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert main(["methods", "--json"]) == 0
    listed = {entry["name"]: entry for entry in json.loads(capsys.readouterr().out)}
    assert listed["float test"]["words"] == {"float": {"outcome": ["floats", "hovers", "sinks"]}}
    assert listed["displacement"]["words"] == {}
    for entry in listed.values():
        for test, fields in entry["words"].items():
            assert test in entry["tests"]
            for field, words in fields.items():
                assert f"{test}, {field}: {', '.join(words)}" in text


def test_usage_errors_exit_2() -> None:
    for arguments in ((), ("identify",), ("blorg",), ("identify", "a", "--top", "x")):
        done = run(*arguments)
        assert done.returncode == 2
        assert "Traceback" not in done.stderr


def test_own_and_extended_tables(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["resins", "--table", str(tmp_path)]) == 2
    assert "sources.csv" in capsys.readouterr().err
    (tmp_path / "resins.csv").write_text(
        "resin,name,group,kind,aliases,note\nPMP,polymethylpentene,engineering,semicrystalline,TPX,\n", encoding="utf-8"
    )
    (tmp_path / "variants.csv").write_text(
        "resin,variant,weight,softens,filler,load_low,load_high,source,locator,obtained,note\n"
        "PMP,natural,1,melting,,,,,,common practice,\n",
        encoding="utf-8",
    )
    (tmp_path / "properties.csv").write_text(
        "resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note\n"
        "PMP,natural,density,0.830,0.833,0.840,g/cm3,,,own,,data sheet,\n"
        "PMP,natural,melting_temperature,,235,,degC,,,own,,data sheet,\n",
        encoding="utf-8",
    )
    (tmp_path / "sources.csv").write_text(
        "key,citation,year,kind,url,read,note\nown,Our own sheet,2026,data sheet,,read,\n", encoding="utf-8"
    )
    file = tmp_path / "piece.toml"
    file.write_text("[[observation]]\ntest='density'\ndensity='0.833 ± 0.002 g/cm3'", encoding="utf-8")
    assert main(["identify", str(file), "--extend", str(tmp_path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["ranking"][0]["resin"] == "PMP"


def test_closed_pipe_is_no_traceback() -> None:
    """A reader that goes away early is no error of ours."""
    with subprocess.Popen(
        [sys.executable, "-m", "resinid", "sources"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as program:
        assert program.stdout is not None
        assert program.stderr is not None
        program.stdout.close()
        assert program.stderr.read() == b""


def test_interrupted(monkeypatch: pytest.MonkeyPatch) -> None:
    class Slow(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            raise KeyboardInterrupt(size)

    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(Slow()))
    assert main(["identify", "-"]) == 130


@pytest.mark.parametrize("command", [["identify"], ["next"], ["sheet"]])
def test_a_document_says_which_dangers_it_allows(command: list[str], tmp_path: Path) -> None:
    """Every command that reads a piece honours ``allow`` in its document, and refuses the test without it."""
    piece = tmp_path / "burnt.toml"
    text = '[[observation]]\ntest = "burn_smell"\noutcome = "styrene"\n'
    piece.write_text(text, encoding="utf-8")
    assert main([*command, str(piece)]) == 2
    assert main([*command, str(piece), "--allow", "burn"]) == 0
    piece.write_text(f'allow = ["burn"]\n{text}', encoding="utf-8")
    assert main([*command, str(piece)]) == 0


@pytest.mark.parametrize(
    ("typed", "meant"), [("identfy", "identify"), ("recipes", "recipe"), ("lader", "ladder"), ("zzzz", "")]
)
def test_an_unknown_command_gets_a_suggestion(typed: str, meant: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main([typed, "piece.toml"])
    assert caught.value.code == 2
    error = capsys.readouterr().err
    assert f"no command is called '{typed}'" in error
    assert (f"did you mean '{meant}'?" in error) if meant else ("did you mean" not in error)
    assert "identify" in error
