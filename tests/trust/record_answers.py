"""Regression: record what this commit answers, and compare what a later one answers to the same questions.

    python tests/trust/record_answers.py record FILE
    python tests/trust/record_answers.py compare FILE [--tolerance 1e-9]

A recording holds 500 invented pieces, 50 bags, 50 advices on the next test and 50 tables: the
questions as plain documents, the answers as numbers and words of verdicts. Comparing asks the
questions of the file again, so after a change of names only :func:`answers` has to follow.
Recorded answers are no evidence that they are right; they show that a change of structure
changed none.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeGuard

import pandas as pd
from recorded_readings import (
    PROFILES,
    WORDS,
    Profile,
    any_profile,
    density,
    feel,
    float_test,
    hot_plate,
    looks,
    mark,
    observations,
    weighing,
)

import resinid

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Entry = dict[str, Any]
    Cases = dict[str, Any]

__all__ = ["KINDS", "answers", "differences", "questions"]

FORMAT: Final = 1
SEED: Final = 18
KINDS: Final = {"piece": 500, "bag": 50, "advice": 50, "table": 50}
"""How many of each are recorded."""

ROWS: Final = 40
TOLERANCE: Final = 1e-9
SHOWN: Final = 20
"""Differences printed before the rest is only counted."""

COLUMNS: Final = {
    "density": "density.density",
    "float": "float.outcome",
    "float#2": "float#2.outcome",
    "softening": "softening.temperature",
    "plate": "hot_plate.not_melted_at",
    "modulus": "modulus.modulus",
    "feel": "feel.outcome",
    "transparency": "transparency.outcome",
    "snap": "snap.outcome",
    "mark": "mark.reads",
}
"""What the columns of a table may tell, and of which field."""

DONE: Final = 0.8
"""Share of the rows on which a test of a table was done."""

ALLOW: Final = ("burn", "copper wire")


def _piece(rng: random.Random) -> Entry:
    prior = rng.choice(("default", "default", "default", "uniform", "world-waste"))
    return {"observations": observations(rng, any_profile(rng), 7), "prior": prior}


def _bag_entries(rng: random.Random, resin: str) -> Entry:
    made: Entry = {"process": rng.choice(("unknown", "injection moulding", "film"))}
    like = PROFILES[resin]
    if rng.random() < 0.7:
        made["marked"] = {resin: rng.randint(3, 60)}
        if rng.random() < 0.2:
            made["marked"][rng.choice(list(PROFILES))] = 1
    if rng.random() < 0.5 or "marked" not in made:
        cold = (density, float_test, feel, hot_plate)
        made["pieces"] = [[make(rng, like) for make in cold] for _ in range(rng.randint(1, 6))]
    if rng.random() < 0.3:
        made["flakes"] = [{"liquid": "water", "floated": rng.randint(0, 40), "sank": rng.randint(0, 40)}]
    if rng.random() < 0.3:
        made["remarks"] = [rng.choice(("black", "food contact", "electrical housing", "coloured"))]
    made["mass"] = f"{rng.uniform(0.5, 6.0):.1f} kg"
    return made


def _bag(rng: random.Random) -> Entry:
    resin = rng.choice(("PE-HD", "PE-HD", "PP", "PE-LD", "PS", "ABS", "PET", "PVC-U"))
    other = rng.choice((resin, resin, rng.choice(list(PROFILES))))
    return {"bag": _bag_entries(rng, resin), "other": _bag_entries(rng, other)}


def _advice(rng: random.Random) -> Entry:
    cold = (density, weighing, float_test, float_test, feel, looks, mark)
    like = any_profile(rng)
    return {
        "observations": [make(rng, like) for make in rng.sample(cold, rng.randint(0, 4))],
        "have": rng.choice((None, "table salt, ethanol 96 %v/v, scale 0.01 g, sinker, strip, hot plate 250 degC")),
        "question": rng.choice(("resin", "melt group", "pvc")),
        "by": rng.choice(("bits per minute", "bits")),
        "allow": rng.choice(([], ["hot plate"])),
    }


def _columns(rng: random.Random, part: str, likes: list[Profile]) -> Entry:
    """Return the full columns of one test."""
    test, _, field = COLUMNS[part].partition(".")
    if part.startswith("float"):
        done = [float_test(rng, like) for like in likes]
        return {f"{part}.liquid": [one["liquid"] for one in done], f"{part}.outcome": [one["outcome"] for one in done]}
    if part == "density":
        cells = [round(rng.gauss(like.density, 0.008), 4) for like in likes]
        return {
            f"{test}.{field} [g/cm3]": cells,
            f"{test}.{field}_u [g/cm3]": [rng.choice((0.001, 0.004)) for _ in cells],
        }
    if part == "modulus":
        cells = [round(like.modulus * math.exp(rng.gauss(0.0, 0.2)), 1) for like in likes]
        return {f"{test}.{field} [MPa]": cells, f"{test}.{field}_u [MPa]": [round(0.06 * cell, 2) for cell in cells]}
    if part in {"softening", "plate"}:
        soft = [min(like.softens, 250.0) for like in likes]
        cells = (
            [round(rng.gauss(at, 4.0), 1) for at in soft] if part == "softening" else [20.0 * (at // 20) for at in soft]
        )
        return {f"{test}.{field} [degC]": cells, f"{test}.{field}_u [degC]": [2.0] * len(cells)}
    word: Callable[[Profile], str] = {
        "feel": lambda like: str(feel(rng, like)["outcome"]),
        "transparency": lambda like: like.clear,
        "snap": lambda _: rng.choice(WORDS["snap"]),
        "mark": lambda like: str(mark(rng, like)["reads"]),
    }[part]
    return {f"{test}.{field}": [word(like) for like in likes]}


def _table(rng: random.Random) -> Entry:
    """Forty rows in some mix of columns, tests left out here and there."""
    likes = [any_profile(rng) for _ in range(ROWS)]
    columns: Entry = {}
    for part in rng.sample(list(COLUMNS), 4):
        done = [rng.random() < DONE for _ in likes]
        for header, cells in _columns(rng, part, likes).items():
            columns[header] = [cell if there else None for cell, there in zip(cells, done, strict=True)]
    return {"columns": columns}


def questions(seed: int = SEED) -> Cases:
    """Draw the questions: plain documents by kind and name, without asking the library anything."""
    make = {"piece": _piece, "bag": _bag, "advice": _advice, "table": _table}
    return {
        f"{kind} {number}": {"kind": kind, **make[kind](random.Random(f"{seed} {kind} {number}"))}  # noqa: S311 - draws
        for kind, count in KINDS.items()
        for number in range(1, count + 1)
    }


def _of_piece(case: Entry) -> Entry:
    answer = resinid.identify(case["observations"], prior=case["prior"], allow=ALLOW)
    return {
        "probability": dict(zip(answer.resins, answer.probability, strict=True)),
        "prior": dict(zip(answer.resins, answer.prior, strict=True)),
        "factors": [dict(zip(answer.resins, row, strict=True)) for row in answer.log_factors],
        "mishap": list(answer.outlier),
        "variants": dict(answer.variants),
        "unstated": [[*resins] for _, resins in answer.no_data],
        "heat": {"verdict": answer.heat.verdict, "allowed": answer.heat.allowed, "reasons": len(answer.heat.reasons)},
        "sources": list(answer.sources),
    }


def _of_bag(case: Entry) -> Entry:
    bag = resinid.Batch.of("one", **case["bag"])
    other = resinid.Batch.of("other", **case["other"])
    whole = resinid.batch_composition(bag)
    both = resinid.melt_together(bag, other)
    plan = resinid.melt_plan(bag)
    return {
        "shares": {share.resin: [share.mean, share.low, share.high, share.before] for share in whole.shares},
        "main": whole.main_probability,
        "strangers": {one.resin: [one.mean, one.limit, one.wanted, one.further] for one in whole.contaminants},
        "together": {
            "verdict": both.verdict,
            "chances": list(both.chances),
            "danger": both.danger,
            "shares": list(both.shares),
            "hazards": [[note.probability, note.onset] for note in both.hazards],
            "reasons": len(both.reasons),
            "refusals": len(both.refusals),
            "further": [count for _, count in both.further],
        },
        "plan": {
            "verdict": plan.verdict.verdict,
            "steps": plan.steps
            and {
                "window": [plan.steps.window.low, plan.steps.window.typical, plan.steps.window.high],
                "melted": plan.steps.melted,
                "mass": [plan.steps.mass.low, plan.steps.mass.high],
                "heating": [
                    [way.source, way.minutes, way.shortest, way.longest, way.after] for way in plan.steps.heating
                ],
            },
        },
    }


def _of_advice(case: Entry) -> Entry:
    asked = {key: case[key] for key in ("question", "by", "allow")}
    advice = resinid.next_tests(case["observations"], bench=case["have"], **asked)
    # In order of name, for two tests that tell as much may change places in the last digit.
    ranked = sorted(advice.suggestions, key=lambda one: one.plan.label)
    return {
        "verdict": advice.verdict,
        "answers": dict(advice.answers),
        "unknown": advice.unknown,
        "bits left": advice.bits_left,
        "settleable": advice.settleable,
        "withheld": len(advice.withheld),
        "suggestions": [[one.plan.test, one.bits, one.settles, one.plan.minutes] for one in ranked],
    }


def _of_table(case: Entry) -> Entry:
    frame = resinid.identify_table(pd.DataFrame(case["columns"]))
    numbers = frame.probability
    return {
        "probability": {str(name): [None if math.isnan(p) else p for p in numbers[name]] for name in numbers},
        "do not heat": frame["do_not_heat"].tolist(),
        "rows refused": frame["error"].notna().tolist(),
    }


ANSWER: Final = {"piece": _of_piece, "bag": _of_bag, "advice": _of_advice, "table": _of_table}


def answers(cases: Cases) -> Cases:
    """Ask the library; a question it refuses is answered by the kind of error."""
    out: Cases = {}
    for name, case in cases.items():
        try:
            out[name] = ANSWER[case["kind"]](case)
        except resinid.ResinidError as error:
            out[name] = {"refused": type(error).__name__}
    return out


def differences(before: object, after: object, tolerance: float, place: str = "") -> Iterator[str]:
    """Say where two answers differ: in a number by more than the tolerance, else at all."""
    if isinstance(before, dict) and isinstance(after, dict):
        for key in dict.fromkeys((*before, *after)):
            if key not in before or key not in after:
                yield f"{place}.{key}: only {'before' if key in before else 'after'}"
            else:
                yield from differences(before[key], after[key], tolerance, f"{place}.{key}")
    elif isinstance(before, list) and isinstance(after, list):
        if len(before) != len(after):
            yield f"{place}: {len(before)} before, {len(after)} after"
        for index, (one, other) in enumerate(zip(before, after, strict=False)):
            yield from differences(one, other, tolerance, f"{place}[{index}]")
    elif _number(before) and _number(after):
        # Relative for what is large, such as grams; written so that what is not a number differs.
        if before != after and not abs(before - after) <= tolerance * max(1.0, abs(before)):
            yield f"{place}: {before!r} before, {after!r} after"
    elif type(before) is not type(after) or before != after:
        yield f"{place}: {before!r} before, {after!r} after"


def _number(value: object) -> TypeGuard[float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _plain(value: object) -> Any:  # noqa: ANN401 - whatever JSON holds
    return json.loads(json.dumps(value))


def main(arguments: list[str] | None = None) -> int:
    """Record or compare; return 1 where anything differs."""
    parser = argparse.ArgumentParser(description="Record what this commit answers, or compare with a recording.")
    parser.add_argument("what", choices=("record", "compare"))
    parser.add_argument("file", type=Path)
    parser.add_argument("--tolerance", type=float, default=TOLERANCE)
    given = parser.parse_args(arguments)
    if given.what == "record":
        cases = questions()
        made = answers(cases)
        data = {"format": FORMAT, "version": resinid.default_reference().digest, "questions": cases, "answers": made}
        given.file.write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        refused = sum("refused" in one for one in made.values())
        print(f"{len(made)} answers recorded in {given.file}, {refused} of them refusals of the question")
        return 0
    data = json.loads(given.file.read_text(encoding="utf-8"))
    if data["format"] != FORMAT:
        print(f"{given.file} has format {data['format']}, this script reads {FORMAT}", file=sys.stderr)
        return 2
    found = list(differences(data["answers"], _plain(answers(data["questions"])), given.tolerance))
    print("\n".join(found[:SHOWN]))
    print(f"{len(found)} differences in {len(data['answers'])} answers, tolerance {given.tolerance:g}")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
