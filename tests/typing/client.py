"""A client of every public name, which strict type checkers pass; only read by them."""

from __future__ import annotations

from pathlib import Path
from typing import Any, assert_type

import pandas as pd

import resinid

SEEN: list[dict[str, object]] = [{"test": "float", "liquid": "water", "outcome": "floats"}]


def pieces() -> None:
    answer = resinid.identify(SEEN, piece="cap", prior="uniform", allow=["burn"], danger_limit=0.01)
    assert_type(answer, resinid.Result)
    assert_type(answer["PP"], float)
    assert_type(dict(answer), dict[str, float])
    assert_type(list(answer), list[str])
    assert_type(answer.get("PP"), float | None)
    heat: resinid.Heat = answer.heat
    print(heat.allowed, len(answer), "PP" in answer, answer.to_json(), answer.to_frame())
    made: resinid.Observation = resinid.observe("float", liquid="water", outcome="floats")
    advice: resinid.Advice = resinid.next_tests([made], bench=resinid.Bench(), question="heat")
    for suggestion in advice.suggestions:
        one: resinid.Suggestion = suggestion
        plan: resinid.TestPlan = one.plan
        print(plan.minutes)
    print(resinid.parse_liquid("water").density, resinid.Reading(1.0, 0.1), resinid.__version__)


def tables() -> None:
    frame = pd.DataFrame({"density [g/cm3]": ["0.957(3)"]})
    assert_type(resinid.identify_table(frame), resinid.RankedTable)
    assert_type(resinid.identify_table(frame, top=1, prefix="r_", decimal=","), pd.DataFrame)
    assert_type(resinid.identify_table(frame).probability, pd.DataFrame)
    done = resinid.identify_file(Path("in.csv"), "out.csv", top=3, sep=";", decimal=",", encoding="cp1252")
    print(done.rows, done.notes)


def bags() -> None:
    caps = resinid.Batch.of("caps", marked={"PE-HD": 60})
    bottles = resinid.read_batch(Path("bag.toml"))
    composition: resinid.Composition = resinid.batch_composition(caps)
    compatibility: resinid.MeltCompatibility = resinid.melt_together(caps, bottles)
    assert_type(composition["PP"].mean, float)
    stock: tuple[resinid.Batch, ...] = resinid.read_stock("name,marked\ncaps,PE-HD:30\n")
    comparison: resinid.BatchComparison = resinid.same_resin(caps, bottles)
    plan: resinid.MeltPlan = resinid.melt_plan(caps)
    matrix: resinid.StockMatrix = resinid.stock_matrix([caps, bottles])
    print(stock, composition, compatibility.verdict, comparison, plan, matrix)


def baths() -> None:
    recipe: resinid.Recipe = resinid.mix_bath("1.070 g/cm3", "500 mL", "table salt")
    rungs: resinid.Ladder = resinid.ladder(["PE-HD", "PS"])
    mended: resinid.Correction = resinid.correct_bath("1.062 g/cm3", "500 mL", "1.070 g/cm3", resinid.Reagent("NaCl"))
    assert_type(mended.to_json(), str)
    assert_type(recipe.to_dict(), dict[str, Any])
    print(rungs)


def tables_of_reference() -> None:
    reference: resinid.ReferenceTable = resinid.default_reference()
    print(
        reference.symbols,
        resinid.load_reference(Path("reference")),
        resinid.plot.draw_moves,
        resinid.testing.check_method,
    )


def recorded() -> None:
    with resinid.Record("shop.sqlite") as record:
        answer: resinid.Result = record.identify([], piece="cap", source="market")
        record.confirm(1, "PP", how="DSC")
        print(answer, record.to_frame(), record.prior().shares["PP"])


def errors() -> None:
    try:
        tables()
    except resinid.InputError as error:
        faults: tuple[resinid.Fault, ...] = error.faults
        print(faults)
    except (resinid.NotAllowedError, resinid.MethodError, resinid.RangeError, resinid.UnknownNameError):
        pass
    except resinid.ResinidError:
        pass
