"""One of each public answer, for the tests of how they look; made once."""

from __future__ import annotations

import functools
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import resinid

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid import Batch, Result

HOSTILE: Final = "<script>alert('cap & \"co\"')</script>\x1b[31m\u202e"
"""A name that a page must show and must not obey."""

FLOATS: Final = (
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "float", "liquid": "ethanol 40 %v/v at 20 degC", "outcome": "sinks"},
)


TESTED: Final = [
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
    {"test": "hot_plate", "not_melted_at": "120 degC", "melted_at": "140 degC"},
]


@functools.cache
def cap(name: str = "green screw cap") -> Result:
    return resinid.identify([*FLOATS, {"test": "softening", "temperature": "131 ± 2 degC"}], piece=name)


@functools.cache
def bags(suffix: str = "") -> tuple[Batch, ...]:
    return (
        resinid.Batch.of(
            f"caps{suffix}", marked={"PE-HD": 400}, pieces=[TESTED] * 8, process="injection moulding", mass="3 kg"
        ),
        resinid.Batch.of(
            f"bottles{suffix}",
            marked={"PE-HD": 400},
            pieces=[TESTED] * 8,
            process="blow moulding",
            mfr="0.4 g/(10 min)",
        ),
        resinid.Batch.of(f"cups{suffix}", marked={"PS": 400}, remarks=["food contact"]),
        resinid.Batch.of(f"pipes{suffix}", marked={"PVC-U": 4}),
    )


@functools.cache
def answers(name: str = "green screw cap") -> Mapping[str, object]:
    """Return each public answer by the name of its kind; ``name`` is used wherever a person may name something."""
    caps, bottles, cups, pipes = bags(name)
    advice = resinid.next_tests([*FLOATS], bench="table salt, ethanol 96 %v/v, scale 0.1 g, strip")
    brine = resinid.parse_liquid({"density": "1.07 ± 0.001 g/cm3", "label": name})
    return MappingProxyType(
        {
            "Result": cap(name),
            "untested": resinid.identify([], piece=name),
            "Heat": cap().heat,
            "Advice": advice,
            "Suggestion": advice.suggestions[0],
            "Liquid": brine,
            "Recipe": resinid.mix_bath("0.930 g/cm3", "500 mL", "ethanol 96 %v/v", allow=["flammable bath"]),
            "Correction": resinid.correct_bath("1.062 g/cm3", "500 mL", "1.070 g/cm3", "table salt"),
            "Ladder": resinid.ladder(["PP", "PE-HD", "PS", "PET"], bench="table salt, ethanol 96 %v/v", steps=3),
            "Batch": caps,
            "Composition": resinid.batch_composition(caps),
            "BatchComparison": resinid.same_resin(caps, bottles),
            "MeltCompatibility": resinid.melt_together(caps, pipes),
            "MeltPlan": resinid.melt_plan(caps, bottles),
            "refused plan": resinid.melt_plan(pipes),
            "StockMatrix": resinid.stock_matrix([caps, bottles, cups, pipes]),
            "Table": resinid.default_reference(),
        }
    )
