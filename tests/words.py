"""What the tests of methods whose outcomes are words have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid import default_reference
from resinid.methods.registry import find_test
from resinid.reference.method_rows import behaviours_of, sources_of
from resinid.scoring.properties import observed

if TYPE_CHECKING:
    from pathlib import Path

    from resinid.reference.entries import Behaviour


def chances(test: str) -> dict[str, dict[str, float]]:
    """Return the chance of each outcome of a test by resin, for the first variant of which something is stated."""
    reference = default_reference()
    kind = find_test(test)
    words = kind.words()  # type: ignore[attr-defined]  # because the tests here are of aspects
    latent = observed(kind.observes).latent(reference)
    out: dict[str, dict[str, float]] = {}
    for variant, row, stated in zip(reference.variants, latent.mass, latent.stated, strict=False):
        if stated:
            out.setdefault(variant.resin, dict(zip(words, row.tolist(), strict=True)))
    return out


def likeliest(test: str, resin: str) -> str:
    """Return the outcome of a test that a resin shows most often."""
    found = chances(test)[resin]
    return max(found, key=lambda word: found[word])


def faults_of(folder: Path, rows: tuple[Behaviour, ...]) -> list[str]:
    """Return what is wrong with a folder's rows: unknown sources or resins, statements made twice."""
    reference = default_reference()
    known = {source.key for source in sources_of(folder)} | {source.key for source in reference.sources}
    resins = {variant.resin for variant in reference.variants}
    said = [(row.resin, row.aspect, row.outcome, row.source) for row in rows]
    faults = [
        f"{row.resin} {row.aspect}: no source {key}" for row in rows for key in row.source.split() if key not in known
    ]
    faults += [f"no resin {row.resin}" for row in rows if row.resin not in resins]
    return [*faults, *(f"twice: {one}" for one in said if said.count(one) > 1)]


def rows_of(folder: Path, tests: tuple[str, ...]) -> tuple[Behaviour, ...]:
    """Return a folder's rows of some tests."""
    return tuple(
        row
        for test in tests
        for row in behaviours_of(folder, test, find_test(test).words())  # type: ignore[attr-defined]  # as above
    )


def unused_sources(folder: Path, rows: tuple[Behaviour, ...]) -> set[str]:
    """Return sources in a folder that none of its rows names."""
    return {source.key for source in sources_of(folder)} - {key for row in rows for key in row.source.split()}
