"""Hostile input: whatever is read, only the package's own errors come out, soon and in little memory."""

from __future__ import annotations

import json
import subprocess
import sys
import warnings
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Final

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from readers import READERS, SOUND

from resinid import Method, MethodWarning, ResinidError, Result, SharedError, Term, identify, observe
from resinid.cli.main import main

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

HERE: Final = Path(__file__).parent
SETTINGS: Final = settings(
    max_examples=40,
    deadline=timedelta(seconds=10),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
FRAGMENTS: Final = (
    *("=1+1", "@SUM(A1)", '=HYPERLINK("x")', "-1", "+1", "0,95", "1.000,5", "1e999", "-1e999", "nan", "inf", "NaN"),
    *(
        "9" * 400,
        "1e-320",
        "0",
        "-0.0",
        "± 0",
        "\u2212" + "1",
        "\uff11",
        "..",
        "../../etc/passwd",
        "C:\\x",
        "/dev/zero",
    ),
    *("\x00", "\ufeff", "\u202e", "\r", "\r\n", "\x85", "\u2028", '"', "'", '"""', "[", "]", "{", "}", ",", ";", "\t"),
    *("true", "null", "1979-05-27", "[[observation]]", "piece.a.b", "none of these", "g**9**9**9**9", "9**9**9 g/cm3"),
    *("\ud83d", "é".encode("latin-1").decode("latin-1"), "Ω", "%v/v", "saturated", "at", "u = 0", "# ", "\f"),
)
"""Formula-like cells, commas of other locales, paths, digits and dashes that look alike, and marks of each format."""


@st.composite
def hostile(draw: st.DrawFn, sound: tuple[bytes, ...]) -> bytes:
    """A sound input with pieces cut out, doubled, moved, or replaced by hostile fragments or bytes."""
    data = draw(st.sampled_from(sound))
    for _ in range(draw(st.integers(1, 6))):
        first = draw(st.integers(0, len(data)))
        last = draw(st.integers(first, min(len(data), first + 40)))
        new = draw(
            st.one_of(
                st.sampled_from(FRAGMENTS).map(lambda text: text.encode("utf-8", "surrogatepass")),
                st.binary(max_size=6),
                st.just(data[first:last] * 2),
                st.just(b""),
            )
        )
        data = data[:first] + new + data[last:]
    return data


@pytest.mark.parametrize("name", READERS)
def test_only_own_errors_escape(name: str) -> None:
    """Whatever is made of a sound input, a reader returns or raises the package's own error, within ten seconds."""

    @SETTINGS
    @given(hostile(SOUND[name]))
    def law(data: bytes) -> None:
        with suppress(ResinidError):
            READERS[name](data)

    law()


@pytest.mark.parametrize("name", READERS)
def test_sound_inputs_are_read(name: str) -> None:
    """The inputs from which hostile ones are made are read."""
    for data in SOUND[name]:
        assert READERS[name](data) is not None


entries = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.sampled_from(FRAGMENTS),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(("value", "u", "unit", "density", "solute", "test")), inner)
    ),
    max_leaves=8,
)
fields = st.sampled_from(
    ("density", "liquid", "outcome", "outlier", "in_air", "in_liquid", "temperature", "u_thermometer", "load", "hand")
)


@SETTINGS
@given(
    st.lists(
        st.fixed_dictionaries({"test": st.sampled_from(("density", "float", "weighing", "softening", "feel"))}).flatmap(
            lambda test: st.dictionaries(fields, entries, max_size=4).map(lambda more: {**more, **test})
        ),
        max_size=4,
    )
)
def test_observations_of_anything(given_: list[dict[str, Any]]) -> None:
    """Any nesting of any values for the readings gives an answer that adds up to one, or the package's own error."""
    try:
        answer = identify(given_)
    except ResinidError:
        return
    assert sum(answer.probability) == pytest.approx(1.0)
    assert Result.from_json(answer.to_json()) == answer


reals = st.floats(allow_nan=True, allow_infinity=True)
shapes = st.sampled_from(("right", "short", "empty", "square", "scalar", "text", "none"))


@dataclass(frozen=True)
class Rogue:
    """A plug-in's test that gives whatever it is told to."""

    test: ClassVar[str] = "rogue"
    observes: ClassVar[str] = "density"

    value: object = 1.0
    shape: str = "right"
    outlier: Any = 0.05
    outlier_likelihood: Any = 1.0
    feature: Any = None
    shared: Any = None
    says: Any = "rogue"
    about: Any = "density"

    def likelihood(self, values: NDArray[np.float64], error: NDArray[np.float64] | None) -> Any:  # noqa: ANN401, ARG002 - because it gives anything
        ways: dict[str, Callable[[], object]] = {
            "right": lambda: np.full(values.shape, self.value),
            "short": lambda: np.full(values.size // 2, self.value),
            "empty": lambda: np.empty(0),
            "square": lambda: np.full((values.size, 2), self.value),
            "scalar": lambda: self.value,
            "text": lambda: "likely",
            "none": lambda: None,
        }
        return ways[self.shape]()

    def term(self) -> Any:  # noqa: ANN401 - because it gives anything
        if self.outlier == "no term":
            return {"likelihood": self.likelihood}
        if self.outlier == "fails":
            raise ZeroDivisionError
        return Term(self.about, self.likelihood, self.outlier, self.outlier_likelihood, self.feature, self.shared)

    def describe(self) -> Any:  # noqa: ANN401 - because it gives anything
        return self.says


anything = st.one_of(reals, st.none(), st.text(max_size=3), st.sampled_from(("no term", "fails")))
rogues = st.builds(
    Rogue,
    value=st.one_of(st.just(1.0), reals),
    shape=shapes,
    outlier=st.one_of(st.just(0.05), anything),
    outlier_likelihood=st.one_of(st.just(1.0), anything),
    feature=st.one_of(st.none(), st.tuples(reals, reals), anything),
    shared=st.one_of(
        st.none(),
        st.builds(SharedError, st.just("jug"), reals),
        st.just(SharedError([], 1.0)),  # type: ignore[arg-type]  # because it is a rogue
        anything,
    ),
    says=st.one_of(st.just("rogue"), anything),
    about=st.one_of(st.just("density"), anything),
)


@SETTINGS
@given(rogues, st.integers(1, 2))
def test_rogue_plug_in_is_left_out(rogue: Rogue, times: int) -> None:
    """Whatever a plug-in's test gives, the answer adds up to one, and the rest counts if it cannot be used."""
    density = observe("density", density="1.05 ± 0.01 g/cm3")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", category=MethodWarning)
        answer = identify([*[rogue] * times, density])
    assert sum(answer.probability) == pytest.approx(1.0)
    assert all(0 <= share <= 1 for share in answer.probability)
    if answer.left_out:
        assert all("rogue" in why for _, why in answer.left_out)
        assert answer.probability == identify([density]).probability


def test_rogue_and_sound_plug_in() -> None:
    """The guard lets a sound plug-in pass, with the answer it would have without."""
    sound = Method("rogue", "1", "none", "", (), (Rogue,))
    answer = identify([{"test": "rogue"}], methods=[sound])
    before = dict(zip(answer.resins, answer.prior, strict=True))
    assert all(answer[resin] == pytest.approx(share) for resin, share in before.items())
    with pytest.warns(MethodWarning, match="rogue"):
        assert identify([Rogue(value=float("nan"))]).left_out


HOSTILE: Final[dict[str, Callable[[], str]]] = {
    "many keys": lambda: "{" + ",".join(f'"k{i}":1' for i in range(60_000)) + "}",
    "many keys in an observation": lambda: (
        '{"observation":[{"test":"density",' + ",".join(f'"d{i}":1' for i in range(60_000)) + "}]}"
    ),
    "many jugs": lambda: '{"liquid":{' + ",".join(f'"k{i}":"watr"' for i in range(40_000)) + '},"observation":[]}',
    "many observations": lambda: '{"observation":[' + ",".join(["{}"] * 200_000) + "]}",
    "deep lists, JSON": lambda: '{"a":' + "[" * 400_000 + "]" * 400_000 + "}",
    "deep lists, TOML": lambda: "a=" + "[" * 400_000 + "]" * 400_000,
    "deep tables, TOML": lambda: "a=" + "{a=" * 900 + "1" + "}" * 900,
    "deep keys, TOML": lambda: "a." * 200_000 + "a=1",
    "deep quoted keys, TOML": lambda: '"a" . ' * 150_000 + "a=1",
    "long word": lambda: "a" * 999_000 + "=1",
    "long number": lambda: "a=" + "1_" * 400_000 + "1",
    "duplicate keys, JSON": lambda: '{"piece":"a","piece":"b","observation":[]}',
    "duplicate keys, TOML": lambda: 'piece="a"\npiece="b"\n',
    "no number": lambda: '{"observation":[{"test":"density","density":NaN}]}',
    "half a surrogate": lambda: '{"piece":"\\ud800","observation":[{"test":"snap","outcome":"snaps"}]}',
    "power tower": lambda: '[[observation]]\ntest="density"\ndensity="1.0 g/cm3*9**9**9**9"\n',
    "power tower, raised": lambda: '[[observation]]\ntest="density"\ndensity="1.0 g*10⁹⁹⁹⁹⁹⁹⁹⁹"\n',
    "power tower, words": lambda: (
        '[[observation]]\ntest="density"\ndensity="1 g*2 squared squared squared squared squared"\n'
    ),
    "power tower, signs between": lambda: (
        '[[observation]]\ntest="density"\ndensity="2m³\ufffd2m³\ufffd³\ufffd³\ufffd\ufffd³\ufffd"\n'
    ),
    "exponent that no number has": lambda: f'[[observation]]\ntest="density"\ndensity="1e{"8" * 30} g/cm3"\n',
    "product of degrees": lambda: '[[observation]]\ntest="softening"\ntemperature="11 deg degC"\n',
    "prior that no float holds": lambda: (
        '{"prior":{"PP":' + "1" * 400 + '},"observation":[{"test":"snap","outcome":"snaps"}]}'
    ),
    "uncertainty that no float holds": lambda: (
        '{"observation":[{"test":"density","density":{"value":1,"u":' + "1" * 400 + ',"unit":"g/cm3"}}]}'
    ),
    "too long": lambda: '{"piece":"' + "a" * 2_000_000 + '"}',
    "comma for a point": lambda: '[[observation]]\ntest="density"\ndensity="0,95 g/cm3"\n',
    "comma for thousands": lambda: '[[observation]]\ntest="weighing"\nin_air="1,234.5 g"\n',
    "minus that is none": lambda: '[[observation]]\ntest="softening"\ntemperature="\u221240 degC"\n',
}
"""Documents that must be refused, each within seconds and in bounded memory."""


BOUNDED: Final = """
import contextlib, io, json, resource, sys, time
resource.setrlimit(resource.RLIMIT_AS, (3 * 1024**3, 3 * 1024**3))  # threads of the libraries reserve two of them
from resinid.cli.main import main
told = {}
for path in sys.argv[1:]:
    error, start = io.StringIO(), time.monotonic()
    with contextlib.redirect_stderr(error):
        code = main(["identify", path])
    told[path] = (code, error.getvalue(), time.monotonic() - start)
print(json.dumps(told))
"""

MUCH: Final = tuple(name for name in HOSTILE if name.startswith(("deep", "many", "power", "long")))


def is_refusal(code: int, error: str, path: Path) -> bool:
    """Whether the command line refuses a document with exit code 2, one message, and no trace."""
    return code == 2 and "Traceback" not in error and str(path) in error and len(error) < 20_000


def test_documents_that_ask_for_much_are_refused_soon(tmp_path: Path) -> None:
    """Each within seconds; one after another by one process in bounded memory, which none of them ends."""
    paths = {tmp_path / f"{number}.toml": name for number, name in enumerate(MUCH)}
    for path, name in paths.items():
        path.write_text(HOSTILE[name](), encoding="utf-8")
    command = [sys.executable, "-c", BOUNDED, *map(str, paths)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    told = json.loads(done.stdout)
    for path, name in paths.items():
        code, error, seconds = told[str(path)]
        assert is_refusal(code, error, path), f"{name}: {error[:500]}"
        assert seconds < 10, name


@pytest.mark.parametrize("name", [name for name in HOSTILE if name not in MUCH])
def test_hostile_document_is_refused(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "piece.toml"
    path.write_text(HOSTILE[name](), encoding="utf-8")
    assert is_refusal(main(["identify", str(path)]), capsys.readouterr().err, path)


@pytest.mark.parametrize(
    "written",
    [
        b"\xff\xfe[\x00[\x00",
        b"\xef\xbb\xbf[[observation]]\n",
        "piece = 'é'".encode("latin-1"),
        b"",
        b" \n",
        b"\x00" * 9,
    ],
    ids=["UTF-16", "mark only", "Latin-1", "empty", "blank", "zeros"],
)
def test_other_encodings_are_refused(written: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "piece.toml"
    path.write_bytes(written)
    assert main(["identify", str(path)]) == 2
    assert str(path) in capsys.readouterr().err


def test_terminal_is_not_steered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Escape sequences in a document reach neither the answer nor an error on the screen."""
    path = tmp_path / "piece.toml"
    piece = 'piece = "cap\\u001b[2J\\u202e"\n'
    path.write_text(piece + "[[observation]]\ntest = 'snap'\noutcome = 'snaps'\n", encoding="utf-8")
    assert main(["identify", str(path)]) == 0
    path.write_text(piece + "'\u202eb' = 1\n", encoding="utf-8")
    assert main(["identify", str(path)]) == 2
    shown = "".join(capsys.readouterr())
    assert "cap\ufffd[2J" in shown
    assert not {"\x1b", "\u202e"} & set(shown)


def test_paths_are_only_names() -> None:
    """A document's piece name that looks like a path, formula or mark-up is a name and nothing else."""
    for name in ("../../etc/passwd", "/dev/null", "=1+1", "{value}", "%s", "<b>", "\u202e"):
        answer = identify([{"test": "snap", "outcome": "snaps"}], piece=name)
        assert json.loads(answer.to_json())["piece"] == name
        assert Result.from_json(answer.to_json()) == answer
