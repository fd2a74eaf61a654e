"""Look and feel: transparency against what makers of labware print."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest
from words import faults_of, likeliest, rows_of

from resinid.methods import look_and_feel

FOLDER: Final = Path(look_and_feel.__file__).parent

CLEAR: Final = ("PC", "PMMA", "PS", "PSU", "SAN", "PET", "PETG")
OPAQUE: Final = ("PS-HI", "ABS", "ASA", "POM", "PTFE", "PPE+PS", "PBT", "PEEK")
TRANSLUCENT: Final = ("PE-HD", "PE-LD", "PE-LLD", "PP", "PVDF", "VMQ")
"""Bottles, sheets and tubes without pigment: Thermo Fisher, Nalgene properties of plastics; Buerkle; Margolis 2006."""


@pytest.mark.parametrize(("outcome", "resins"), [("clear", CLEAR), ("opaque", OPAQUE), ("translucent", TRANSLUCENT)])
def test_transparency_of_natural_pieces(outcome: str, resins: tuple[str, ...]) -> None:
    assert {resin: likeliest("transparency", resin) for resin in resins} == dict.fromkeys(resins, outcome)


def test_rows_name_known_sources_and_resins() -> None:
    """A folder's rows are checked as the reference table's own are."""
    assert faults_of(FOLDER, rows_of(FOLDER, ("transparency",))) == []
