"""No version that is admitted or installed is one that a recorded advisory warns of.

The records are in advisories.csv, what was looked up and could not be read in
packages_looked_up.csv. They stand in where pip-audit gets no advisories, and are as old
as their dates.
"""

from __future__ import annotations

import csv
import dataclasses
import datetime as dt
import importlib.metadata
import tomllib
from pathlib import Path
from typing import NamedTuple

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
TOGETHER = {"dask": "distributed"}
"""A release of the one, with the extra of the other's name, needs the same release of the other."""


@dataclasses.dataclass(frozen=True)
class Advisory:
    """One range of versions that an advisory names; the columns of the table."""

    package: str
    advisory: str
    aliases: str
    introduced: str
    fixed: str
    last_affected: str
    source: str
    commit: str
    how: str
    note: str
    why_not_us: str
    read: str

    def affects(self, version: Version) -> bool:
        """Say whether a version lies in the range; without an end every later one does."""
        if version < Version(self.introduced):
            return False
        if self.fixed:
            return version < Version(self.fixed)
        return not self.last_affected or version <= Version(self.last_affected)


class Admitted(NamedTuple):
    """The lowest version of a package that pyproject.toml admits; none where it names no lowest."""

    package: str
    lowest: Version | None


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ADVISORIES = [Advisory(**row) for row in rows("advisories.csv")]
LOOKED_UP = {row["package"]: row for row in rows("packages_looked_up.csv")}


def found(package: str, version: Version, advisories: list[Advisory]) -> list[str]:
    """Return the advisories on a version that concern us."""
    return [
        f"{package} {version}: {each.advisory} {each.aliases} ({each.note})"
        for each in advisories
        if each.package == package and not each.why_not_us and each.affects(version)
    ]


def lowest(text: str) -> list[Admitted]:
    """Return the lowest version that a requirement admits, of it and of what is released together with it."""
    requirement = Requirement(text)
    bounds = [Version(each.version) for each in requirement.specifier if each.operator in (">=", "==", "~=")]
    package, version = canonicalize_name(requirement.name), max(bounds, default=None)
    beside = TOGETHER.get(package)
    return [
        Admitted(name, version)
        for name in (package, beside)
        if name and (name == package or name in requirement.extras)
    ]


def users_requirements() -> list[str]:
    """Return what pyproject.toml requires of users: always, and for every extra but the developers'."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    return [*project["dependencies"], *(text for extra in extras if extra != "dev" for text in extras[extra])]


ADMITTED = [each for text in users_requirements() for each in lowest(text)]


@pytest.mark.parametrize("admitted", ADMITTED, ids=[each.package for each in ADMITTED])
def test_the_lowest_admitted_version_is_sound(admitted: Admitted) -> None:
    assert admitted.lowest is not None, f"pyproject.toml names no lowest version of {admitted.package}"
    assert found(admitted.package, admitted.lowest, ADVISORIES) == []


@pytest.mark.parametrize("package", sorted({each.package for each in ADVISORIES}))
def test_the_installed_version_is_sound(package: str) -> None:
    try:
        version = Version(importlib.metadata.version(package))
    except importlib.metadata.PackageNotFoundError:
        pytest.skip(f"{package} is not installed")
    assert found(package, version, ADVISORIES) == []


@pytest.mark.parametrize("package", [each.package for each in ADMITTED])
def test_every_package_that_users_need_was_looked_up(package: str) -> None:
    """Who adds a dependency looks for its advisories and adds a row."""
    assert package in LOOKED_UP


def test_the_tables_are_whole() -> None:
    """Every row says what was read, where and when; every advisory's package is one that was looked up."""
    for row in LOOKED_UP.values():
        assert row["package"] == canonicalize_name(row["package"])
        assert row["needed_by"]
        assert row["where"]
        assert dt.date.fromisoformat(row["looked_up"]).isoformat() == row["looked_up"]
    for each in ADVISORIES:
        assert each.package in LOOKED_UP
        assert each.source
        assert each.note
        assert dt.date.fromisoformat(each.read).isoformat() == each.read
        assert each.how in {"whole", "excerpt", "memory"}
        assert (len(each.commit) == 40) == (each.how == "whole"), each
        assert not (each.fixed and each.last_affected), each
        for end in (each.fixed, each.last_affected):
            assert not end or Version(end) > Version(each.introduced), each
        assert each.fixed or each.last_affected or each.why_not_us, f"nobody can be sound of {each}"


def test_an_affected_version_is_reported() -> None:
    """Our former floor of pyarrow, before 14.0.1, is found; the fixed version is not.

    Apache Arrow names 0.14.0 to 14.0.0 for CVE-2023-47248, Dask's makers 2021.10.0 as the
    first sound version for CVE-2021-42343.
    """
    (warned,) = found("pyarrow", Version("14.0.0"), ADVISORIES)
    assert "CVE-2023-47248" in warned
    assert found("pyarrow", Version("14.0.1"), ADVISORIES) == []
    former = [
        warning
        for each in lowest("dask[dataframe,distributed]>=2021.9")
        for warning in found(*_known(each), ADVISORIES)
    ]
    assert {warning.split()[0] for warning in former} == {"dask", "distributed"}


def _known(admitted: Admitted) -> tuple[str, Version]:
    assert admitted.lowest is not None
    return admitted.package, admitted.lowest


@pytest.mark.parametrize(
    ("introduced", "fixed", "last", "sound", "affected"),
    [
        ("2.0", "2.3", "", ["1.9", "2.3", "2.10"], ["2.0", "2.2.9", "2.3rc1"]),
        ("0", "", "2.8", ["2.8.1", "3"], ["0.1", "2.8"]),
        ("1", "", "", ["0.9"], ["1", "99"]),
    ],
)
def test_ranges(introduced: str, fixed: str, last: str, sound: list[str], affected: list[str]) -> None:
    """A range begins with what it names, ends before the fix or with the last affected version."""
    made = dataclasses.replace(
        ADVISORIES[0], package="made-up", introduced=introduced, fixed=fixed, last_affected=last, why_not_us=""
    )
    for text in affected:
        assert len(found("made-up", Version(text), [made])) == 1
    for text in sound:
        assert found("made-up", Version(text), [made]) == []
    explained = dataclasses.replace(made, why_not_us="we do not call it")
    assert found("made-up", Version(affected[0]), [explained]) == []
    assert found("other", Version(affected[0]), [made]) == []


def test_lowest_versions_are_read() -> None:
    """The highest of several lower bounds holds; names are brought to one form; no bound is none."""
    assert lowest("Some_Thing>=1.2,>=1.4,<3") == [Admitted("some-thing", Version("1.4"))]
    assert lowest("other") == [Admitted("other", None)]
    assert lowest("dask[dataframe]>=2024.1") == [Admitted("dask", Version("2024.1"))]
