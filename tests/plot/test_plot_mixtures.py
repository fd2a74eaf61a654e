"""The pages of small pictures: drawn without a window, complete and legible in grey."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest

from resinid.errors import UnknownNameError
from resinid.plot.mixtures import mixtures
from resinid.reference.rules import RULES
from resinid.reference.table import default_reference

if TYPE_CHECKING:
    from pathlib import Path


pytest.importorskip("matplotlib").use("Agg")

TABLE = default_reference()


@pytest.mark.slow
@pytest.mark.parametrize("latent", RULES)
def test_one_page_holds_every_resin(latent: str, tmp_path: Path) -> None:
    figure = mixtures(TABLE, latent)
    assert [axes.get_title() for axes in figure.axes if axes.get_title()] == list(TABLE.symbols)
    assert "[" in figure.get_suptitle()
    figure.savefig(tmp_path / "page.png", dpi=50)
    assert (tmp_path / "page.png").stat().st_size > 10_000


def test_each_statement_behind_a_resin_is_drawn_once() -> None:
    """PE-HD natural: as many bars and dots as density statements, besides the curves."""
    (axes, *_) = mixtures(TABLE, "density", ["HDPE"]).axes
    rows = [row for row in TABLE.statements if (row.resin, row.property) == ("PE-HD", "density")]
    heights = [np.asarray(line.get_ydata(), dtype=float) for line in axes.lines]
    assert sum(ends.size <= 2 and bool((ends < 0).all()) for ends in heights) == len(rows)


def test_a_resin_that_never_softens_says_so() -> None:
    (axes, *_) = mixtures(TABLE, "softening_temperature", ["PTFE"]).axes
    assert [text.get_text() for text in axes.texts] == ["never"]


def test_everything_is_grey() -> None:
    (axes, *_) = mixtures(TABLE, "density", ["PP"]).axes
    for line in axes.lines:
        assert float(str(line.get_color())) <= 1.0  # matplotlib's grey levels are numbers in a string


def test_unknown_names_are_refused() -> None:
    with pytest.raises(UnknownNameError, match="density, softening_temperature, flexural_modulus"):
        mixtures(TABLE, "colour")
    with pytest.raises(UnknownNameError, match="no resin is called"):
        mixtures(TABLE, "density", ["plywood"])


def test_importing_the_module_loads_no_matplotlib() -> None:
    code = "import sys, resinid.plot.mixtures; sys.exit('matplotlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
