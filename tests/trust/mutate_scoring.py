"""Mutation testing of scoring and of the verdict on heating: does a test fail for every small change of them?

Run by hand, never by pytest, from the top folder; the arguments are the seconds to
spend and, optionally, the share of mutants to try (evenly spread; all if not given)::

    python tests/trust/mutate_scoring.py 7200
    python tests/trust/mutate_scoring.py 600 0.2
    python tests/trust/mutate_scoring.py 3600 --only grid rule --log /tmp/mutants.tsv

Each mutant changes one operator, comparison, condition or number of one module in
``resinid/scoring`` or ``resinid/heating``, in memory only, in a forked child that runs their
tests until the first fails. Survivors are printed; those explained in ``survivors.csv`` are
expected, any other gives exit code 1. With a log, what it says was killed is not tried
again, so that a long run may be done in pieces.
"""

from __future__ import annotations

import argparse
import ast
import copy
import csv
import hashlib
import importlib.util
import os
import signal
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from importlib.machinery import ModuleSpec
    from types import ModuleType

    import pytest

ROOT: Final = Path(__file__).parents[2]
PATHS: Final = {
    path.stem: path
    for folder in ("heating", "scoring")
    for path in sorted((ROOT / "resinid" / folder).glob("[a-z]*.py"))
}
MODULES: Final = tuple(PATHS)
TESTS: Final = {
    "scoring": (
        "tests/trust/test_survivors.py",
        "resinid/scoring",
        "tests/scoring",
        "tests/test_answer.py",
        "tests/test_leave_to_heat.py",
    ),
    "heating": (
        "tests/heating",
        "resinid/heating",
        "tests/test_danger_limit.py",
        "tests/test_leave_to_heat.py",
        "tests/methods/test_forbidding_marks.py",
        "tests/trust/test_attacks.py",
        "tests/methods/test_plug_ins.py",
        "tests/tables/test_tables.py",
    ),
}
OPTIONS: Final = (
    *("-x", "-q", "--tb=no", "-p", "no:cacheprovider", "-p", "no:xdist"),
    *("-W", "ignore:Module already imported:pytest.PytestAssertRewriteWarning"),  # hypothesis, loaded before the fork
)
LAST: Final = (
    "test_measured_density",
    "test_a_hundred_contradictions_stay_finite",
    "test_repeating_a_displacement_as_floats_does_not_sharpen",
    "test_json_round_trip",
    "test_what_each_changed_is_what_it_changed",
    "test_order_is_irrelevant",
    "test_renaming_permutes",
)
"""Tests that take seconds run after the others, which kill most mutants."""

SECONDS: Final = 600
"""A mutant whose tests take longer hangs, and is killed by that."""

SWAPS: Final[dict[type[ast.AST], type[ast.AST]]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.MatMult: ast.Mult,
}
NAMES: Final = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "ceil": "floor",
    "floor": "ceil",
}


@dataclass(frozen=True)
class Mutant:
    """One change of one module."""

    module: str
    line: int
    column: int
    text: str
    before: str
    after: str
    tree: ast.Module

    def __str__(self) -> str:
        return f"{self.module}.py:{self.line}:{self.column}: {self.before}  ->  {self.after}   in   {self.text}"

    @property
    def cell(self) -> tuple[str, ...]:
        """Tells it apart in ``survivors.csv``, wherever the line may move."""
        return self.module, self.text, str(self.column), self.before, self.after

    @property
    def digest(self) -> str:
        """Tells mutants of one state of the code apart."""
        return hashlib.sha256(f"{self.module} {ast.unparse(self.tree)}".encode()).hexdigest()[:16]


def changed(node: ast.AST) -> ast.AST | None:  # noqa: PLR0911 - because each kind of node has its own change
    """Return a node with one small change, or None where it is of a kind that is left alone."""
    new = copy.deepcopy(node)
    if isinstance(new, ast.Compare) and len(new.ops) == 1 and type(new.ops[0]) in SWAPS:
        new.ops = [SWAPS[type(new.ops[0])]()]  # type: ignore[list-item]  # because comparisons swap for comparisons
        return new
    if isinstance(new, (ast.BinOp, ast.BoolOp, ast.AugAssign)) and type(new.op) in SWAPS:
        new.op = SWAPS[type(new.op)]()  # type: ignore[assignment]  # because operators swap for operators
        return new
    if isinstance(new, ast.UnaryOp) and isinstance(new.op, (ast.USub, ast.Not)):
        return new.operand
    if isinstance(new, (ast.If, ast.IfExp)):
        new.test = ast.UnaryOp(ast.Not(), new.test)
        return new
    if isinstance(new, ast.Constant) and isinstance(new.value, bool):
        return ast.Constant(not new.value)
    if isinstance(new, ast.Constant) and isinstance(new.value, (int, float)):
        return ast.Constant(new.value + 1 if isinstance(new.value, int) else new.value * 1.5 or 0.5)
    if isinstance(new, ast.Name) and new.id in NAMES:
        return ast.Name(NAMES[new.id], new.ctx)
    if isinstance(new, ast.Attribute) and new.attr in NAMES:
        new.attr = NAMES[new.attr]
        return new
    return None


def places(node: ast.AST) -> Iterator[tuple[ast.AST, str, int | None]]:
    """Yield where a node can be changed: parent, field, and place in a list. Words and types are left alone."""
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "decorator_list", "keywords"} and not isinstance(node, ast.Call):
            continue
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if not isinstance(child, ast.AST) or isinstance(child, (ast.Raise, ast.JoinedStr, ast.Import)):
                continue
            if isinstance(child, ast.keyword) and child.arg in {"strict", "maxsize", "slots", "frozen"}:
                continue
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
                continue
            if changed(child) is not None:
                yield node, name, index
            yield from places(child)


def mutants(module: str) -> Iterator[Mutant]:
    """Yield every mutant of a module."""
    source = PATHS[module].read_text(encoding="utf-8")
    for number in range(sum(1 for _ in places(ast.parse(source)))):
        tree = ast.parse(source)
        parent, name, index = list(places(tree))[number]
        whole = getattr(parent, name)
        node = whole if index is None else whole[index]
        new = changed(node)
        if new is None:
            continue
        before, after = (_first_line(ast.unparse(ast.fix_missing_locations(part))) for part in (node, new))
        if index is None:
            setattr(parent, name, new)
        else:
            whole[index] = new
        line, column = getattr(node, "lineno", 0), getattr(node, "col_offset", 0)
        text = source.splitlines()[line - 1].strip()
        yield Mutant(module, line, column, text, before, after, ast.fix_missing_locations(tree))


def _first_line(text: str) -> str:
    return text.splitlines()[0]


class Finder:
    """Gives the mutant in place of the module."""

    def __init__(self, mutant: Mutant) -> None:
        self._mutant = mutant
        path = PATHS[mutant.module]
        self._name = f"resinid.{path.parent.name}.{mutant.module}"
        self._path = str(path)

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:  # noqa: ARG002 - as the protocol has it
        if name != self._name:
            return None
        return importlib.util.spec_from_file_location(name, self._path, loader=self)  # type: ignore[arg-type]  # because only what is called is there

    def create_module(self, spec: ModuleSpec) -> None:
        """Let the module be made as usual."""

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self._mutant.tree, self._path, "exec"), module.__dict__)  # noqa: S102 - this is what a loader does


class QuickFirst:
    """Puts the tests that take seconds last."""

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Sort, keeping the order otherwise."""
        place = {name: index for index, name in enumerate(LAST, start=1)}
        items.sort(key=lambda item: place.get(getattr(item, "originalname", ""), 0))


def child(mutant: Mutant | None) -> None:
    """Run the tests against a mutant, or against the code as it is, and leave with pytest's exit code."""
    import pytest
    from hypothesis import Phase, settings

    # A failing example need not be made simpler, and a run can be repeated.
    settings.register_profile("mutants", database=None, derandomize=True, phases=(Phase.explicit, Phase.generate))
    settings.load_profile("mutants")
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    os.setsid()
    if mutant is not None:
        sys.meta_path.insert(0, Finder(mutant))
    some = {PATHS[mutant.module].parent.name} if mutant else TESTS.keys()
    tests = dict.fromkeys(test for folder in some for test in TESTS[folder])
    os._exit(pytest.main([*OPTIONS, *tests], [QuickFirst()]))


def passes() -> bool:
    """Return whether the tests pass with nothing changed."""
    pid = os.fork()
    if pid == 0:
        child(None)
    return os.waitpid(pid, 0)[1] == 0


def survive(chosen: Sequence[Mutant], seconds: float, workers: int, log: Path | None) -> tuple[list[Mutant], int]:
    """Return the mutants that no test killed, and how many were tried in the time."""
    left, alive = list(reversed(chosen)), []
    running: dict[int, tuple[Mutant, float]] = {}
    until, tried = time.monotonic() + seconds, 0
    while running or (left and time.monotonic() < until):
        while left and len(running) < workers and time.monotonic() < until:
            mutant = left.pop()
            pid = os.fork()
            if pid == 0:
                child(mutant)
            running[pid] = (mutant, time.monotonic())
        for pid, (mutant, since) in list(running.items()):
            done, status = os.waitpid(pid, os.WNOHANG)
            if done:
                del running[pid]
                tried += 1
                if log is not None:
                    with log.open("a", encoding="utf-8") as lines:
                        lines.write(f"{'killed' if status else 'alive'}\t{mutant.digest}\t{mutant}\n")
                if status == 0:
                    alive.append(mutant)
                    print(f"alive  {mutant}", flush=True)
            elif time.monotonic() - since > SECONDS:
                with suppress(ProcessLookupError):
                    os.killpg(pid, signal.SIGKILL)
        time.sleep(0.05)
    return alive, tried


def killed(log: Path | None) -> set[str]:
    """Return the digests of the mutants that a log says were killed."""
    if log is None or not log.exists():
        return set()
    rows = (line.split("\t") for line in log.read_text(encoding="utf-8").splitlines())
    return {row[1] for row in rows if row[0] == "killed"}


def explained() -> set[tuple[str, ...]]:
    """Return the survivors that are expected."""
    with (Path(__file__).parent / "survivors.csv").open(encoding="utf-8", newline="") as lines:
        return {tuple(row)[:-1] for row in list(csv.reader(lines))[1:]}


def main(arguments: Sequence[str]) -> int:
    """Try mutants for a time; return 1 where one survives that is not explained."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("seconds", type=float)
    parser.add_argument("share", type=float, nargs="?", default=1.0)
    parser.add_argument("--only", nargs="+", choices=MODULES, default=MODULES, metavar="MODULE")
    parser.add_argument("--log", type=Path)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args(arguments)
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    every = [mutant for module in asked.only for mutant in mutants(module)]
    expected = explained()
    stale = {row for row in expected if row[0] in asked.only} - {mutant.cell for mutant in every}
    for row in sorted(stale):
        print(f"explained, but there is no such mutant: {', '.join(row)}")
    chosen = every[:: max(round(1 / asked.share), 1)]
    done = killed(asked.log)
    left = [mutant for mutant in chosen if mutant.digest not in done]
    # What is heavy is loaded once, before the forks; nothing of the package is.
    for name in ("pytest", "hypothesis", "numpy", "scipy.stats", "scipy.integrate", "pandas", "pint"):
        importlib.import_module(name)
    if not passes():
        print("the tests fail without any mutant; mend that first")
        return 2
    alive, tried = survive(left, asked.seconds, asked.workers, asked.log)
    new = [mutant for mutant in alive if mutant.cell not in expected]
    print(
        f"{len(every)} mutants, {len(chosen) - len(left)} killed before, {tried} tried, {tried - len(alive)} killed, "
        f"{len(alive)} alive, {len(new)} unexplained"
    )
    for mutant in new:
        print(f"unexplained  {mutant}")
    return 1 if new or stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
