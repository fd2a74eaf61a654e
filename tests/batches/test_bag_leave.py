"""How often bags get leave: rightly, and wrongly, by what was looked at (``-m slow -s`` prints the table)."""

from __future__ import annotations

from typing import Final

import pytest
from leave_by_evidence import KINDS, counted, table

MARKS: Final = "40 marks alone"
BENCH: Final = "40 marks, floats, feel, weighing and plate on 10"


@pytest.mark.slow
def test_leave_is_given_rightly_far_more_often_than_wrongly() -> None:
    """A hundred kinds of bag: marks alone never clear; a whole bench beside them does.

    Bounds are those of 95 % intervals, so that a rate must be well on its side. Of a fifth that must not be heated,
    ten of forty items hold none in a tenth of bags, and no test can see what was not looked at.
    """
    assert len(KINDS) == 100
    rates = counted((MARKS, BENCH), 1)
    print(f"\n{table(rates)}")
    assert not sum(rates[MARKS, share].leave for share in (0.0, 0.2, 1.0))
    right, fifth, everything = (rates[BENCH, share].bounds for share in (0.0, 0.2, 1.0))
    assert right[0] > 0.5
    assert fifth[1] < 0.3
    assert everything[1] < 0.15
    assert right[0] > fifth[1]
