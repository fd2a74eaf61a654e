"""The tilting plank keeps the contract of resinid's methods and tells slippery plastics from others."""

from __future__ import annotations

import math

import pytest
from resinid_slide_angle import METHOD

from resinid import identify, next_tests, observe
from resinid.testing import check_method


def test_it_keeps_the_contract() -> None:
    assert len(check_method(METHOD)) > 10


def test_the_tangent_is_the_coefficient() -> None:
    """A piece that slides at 26.57 degrees has a static friction of 0.5 (tan a = mu, textbook mechanics)."""
    made = observe("slide_angle", methods=[METHOD], angle="26.57 degree")
    values = [0.3, 0.4, 0.5, 0.6, 0.7]
    found = [float(made.term().likelihood(_array(value), None)[0]) for value in values]
    assert values[found.index(max(found))] == pytest.approx(math.tan(math.radians(26.57)), abs=1e-3)


def test_ptfe_slides_first() -> None:
    """PTFE has the least friction of all plastics (0.10 to 0.25 in the table cited)."""
    before, after = (identify(seen, methods=[METHOD]) for seen in ([], [{"test": "slide_angle", "angle": "9 degree"}]))
    assert after["PTFE"] > 3 * before["PTFE"]
    assert after["ABS"] < before["ABS"]


def test_it_is_offered_where_there_is_a_plank() -> None:
    offered = {found.plan.test for found in next_tests(bench="tilting plank", methods=[METHOD]).suggestions}
    assert "slide_angle" in offered
    assert "slide_angle" not in {found.plan.test for found in next_tests(bench="strip", methods=[METHOD]).suggestions}


def _array(value: float):  # noqa: ANN202 - because only this file uses it
    import numpy as np

    return np.array([value])
