"""What is loaded when: an import or a short command waits for nothing that it does not use."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

import resinid

LOADED = "import json, sys; print(json.dumps([*sys.modules]), file=sys.stderr)"


def loaded_by(code: str) -> set[str]:
    done = subprocess.run([sys.executable, "-c", f"{code}\n{LOADED}"], check=True, capture_output=True, text=True)
    return set(json.loads(done.stderr.splitlines()[-1]))


def test_importing_the_package_loads_nothing_else_of_it() -> None:
    ours = {name for name in loaded_by("import resinid") if name.startswith("resinid")}
    assert ours == {"resinid", "resinid.version"}


@pytest.mark.parametrize("command", ["--version", "--help"])
def test_short_commands_load_no_arrays(command: str) -> None:
    code = f"import sys; from resinid.__main__ import run; sys.argv = ['resinid', '{command}']\n"
    heavy = {"numpy", "scipy", "pandas", "pint", "importlib.metadata", "resinid.scoring", "resinid.methods"}
    assert not heavy & loaded_by(f"{code}try: run()\nexcept SystemExit: pass")


def test_the_version_alone_loads_no_parser() -> None:
    code = "import sys; from resinid.__main__ import run; sys.argv = ['resinid', '--version']; run()"
    assert "argparse" not in loaded_by(code)


def test_identify_loads_no_bags_plans_or_tables() -> None:
    loaded = loaded_by("from resinid import identify; identify([])")
    unused = {"resinid.batches", "resinid.planning", "resinid.melting", "resinid.tables", "pandas", "scipy.optimize"}
    unused |= {"pint", "scipy.stats", "matplotlib", "rich"}
    assert not unused & loaded


def test_every_public_name_is_found() -> None:
    assert all(getattr(resinid, name) is not None for name in resinid.__all__)
    assert sorted(resinid.__all__) == dir(resinid)
    with pytest.raises(AttributeError, match="no attribute 'identfy'"):
        resinid.identfy  # type: ignore[attr-defined]  # noqa: B018 - it is not there
