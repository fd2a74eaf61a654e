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
from typing import TYPE_CHECKING, Any, Final, NamedTuple, TypeGuard

import pandas as pd

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


class Profile(NamedTuple):
    """Roughly what a resin is like: only to draw questions that a person could ask (from memory)."""

    density: float
    softens: float
    modulus: float
    peak: float
    clear: str
    surface: str
    article: str
    marks: tuple[str, ...]


PROFILES: Final = {
    "PE-HD": Profile(0.955, 131, 1100, 132, "translucent", "waxy", "screw cap", ("HDPE 2", "2", ">PE-HD<")),
    "PE-LD": Profile(0.922, 112, 220, 111, "translucent", "waxy", "film or bag", ("4", "LDPE")),
    "PP": Profile(0.905, 163, 1400, 164, "translucent", "dry", "tray or cup", ("5", ">PP<", ">PP-T20<")),
    "PS": Profile(1.05, 105, 3100, 0, "clear", "dry", "tray or cup", ("6", "PS")),
    "ABS": Profile(1.05, 115, 2300, 0, "opaque", "dry", "housing", (">ABS<", ">ABS-FR(17)<")),
    "PVC-U": Profile(1.42, 95, 2900, 0, "opaque", "dry", "pipe", ("3", "PVC")),
    "PVC-P": Profile(1.27, 80, 30, 0, "translucent", "rubbery", "hose or gasket", ("3",)),
    "PET": Profile(1.36, 245, 2800, 248, "clear", "dry", "drinks bottle", ("1", "PET")),
    "PC": Profile(1.20, 165, 2350, 0, "clear", "dry", "lens or glazing", (">PC<", "7")),
    "PMMA": Profile(1.185, 120, 3100, 0, "clear", "dry", "lens or glazing", (">PMMA<",)),
    "PA6": Profile(1.135, 220, 2300, 221, "opaque", "dry", "gear or bearing", (">PA6<", ">PA6-GF30<")),
    "POM": Profile(1.41, 168, 2700, 167, "opaque", "dry", "gear or bearing", (">POM<",)),
    "PLA": Profile(1.245, 160, 3500, 165, "clear", "dry", "disposable cutlery or case", ("7", "PLA")),
    "NR": Profile(1.12, math.inf, 5, 0, "opaque", "rubbery", "hose or gasket", ("unmarked",)),
}

JUGS: Final = {
    "water": 0.998,
    "ethanol 40 %v/v at 20 degC": 0.948,
    "ethanol 55 %v/v at 20 degC": 0.920,
    "isopropanol 70 %v/v at 20 degC": 0.867,
    "table salt 110 g/kg water at 20 degC": 1.071,
    "table salt saturated at 20 degC": 1.197,
    "CaCl2 400 g/kg water at 20 degC": 1.30,
}
"""Liquids and roughly their densities [g/cm3]."""

WORDS: Final = {
    "melt_clarity": ("clear", "cloudy"),
    "melt_pull": ("long strings", "short strings", "no strings"),
    "melt_flow": ("runny", "stiff"),
    "melt_onset": ("sharp", "gradual"),
    "whitening": ("none", "slight", "strong"),
    "snap": ("snaps", "creases", "springs back"),
    "drop_sound": ("dull", "metallic ring"),
    "scratch_fingernail": ("easily", "hardly", "no"),
    "pencil_hardness": ("6B", "2B", "HB", "2H", "5H"),
    "process": ("injection moulded", "blow moulded", "film", "extruded", "thermoformed"),
    "acetone": ("no effect", "softens", "dissolves"),
    "toluene": ("no effect", "softens", "swells", "dissolves"),
    "ethyl_acetate": ("no effect", "softens", "dissolves"),
    "burn_ignition": ("easily", "moderately", "hardly", "no"),
    "burn_flame": ("yellow", "orange", "blue with yellow tip", "none"),
    "burn_smoke": ("black soot", "little", "none"),
    "burn_drips": ("yes", "no"),
    "burn_self_extinguishing": ("yes", "slowly", "no"),
    "burn_smell": ("candle", "styrene", "hydrochloric acid", "fruity", "none"),
    "copper_wire": ("no green", "green"),
    "spectrum": ("polyethylene", "polypropylene", "polystyrene", "another"),
}
"""Words drawn whatever the piece is: a recording needs answers, not true ones."""


def _density(rng: random.Random, like: Profile) -> Entry:
    u = rng.choice((0.001, 0.004, 0.01))
    return {"test": "density", "density": f"{rng.gauss(like.density, 0.006 + u):.4f} ± {u} g/cm3"}


def _weighing(rng: random.Random, like: Profile) -> Entry:
    volume, step = rng.uniform(2.0, 8.0), rng.choice((0.01, 0.1))
    mass, sinker = volume * like.density, 50.0
    shown = mass - volume * 0.998 + rng.gauss(0.0, 0.01)
    made = {"test": "weighing", "in_air": f"{mass:.2f} ± {step} g", "liquid": "water"}
    if shown > 0.5:
        return {**made, "in_liquid": f"{shown:.2f} ± {step} g"}
    return {
        **made,
        "in_liquid": f"{sinker + shown:.2f} ± {step} g",
        "sinker_in_liquid": f"{sinker:.2f} ± {step} g",
    }


def _cylinder(rng: random.Random, like: Profile) -> Entry:
    volume = rng.uniform(2.0, 8.0)
    mass = volume * like.density
    return {"test": "cylinder", "in_air": f"{mass:.2f} g", "before": "50.0 mL", "after": f"{50 + volume:.1f} mL"}


def _overflow(rng: random.Random, like: Profile) -> Entry:
    volume = rng.uniform(5.0, 20.0)
    return {
        "test": "overflow",
        "in_air": f"{volume * like.density:.2f} g",
        "spilled": f"{volume * 0.998:.2f} g",
        "liquid": "water",
    }


def _float(rng: random.Random, like: Profile) -> Entry:
    jug = rng.choice(list(JUGS))
    over = rng.gauss(like.density, 0.006) - JUGS[jug]
    outcome = "hovers" if abs(over) < 0.002 else "floats" if over < 0 else "sinks"
    return {"test": "float", "liquid": jug, "outcome": outcome}


def _softening(rng: random.Random, like: Profile) -> Entry:
    if math.isinf(like.softens):
        return {"test": "charring", "heated_to": "280 ± 2 degC", "seen": rng.choice(("charred", "unchanged"))}
    return {"test": "softening", "temperature": f"{rng.gauss(like.softens, 5.0):.0f} ± 2 degC"}


def _hot_plate(rng: random.Random, like: Profile) -> Entry:
    first = rng.choice((60, 80))
    for low in range(first, 260, 20):
        if low <= like.softens < low + 20:
            ends = {"not_melted_at": f"{low} degC", "melted_at": f"{low + 20} degC"}
            return {"test": "hot_plate", **ends}
    return {"test": "hot_plate", "not_melted_at": "260 degC"}


def _bend(rng: random.Random, like: Profile) -> Entry:
    thickness, width, span = rng.uniform(2.0, 4.0), rng.uniform(8.0, 15.0), 60.0
    load = 4 * width * thickness**3 * 2.0 * like.modulus / span**3
    return {
        "test": "three_point_bend",
        "load": f"{load:.4f} ± {max(0.02 * load, 0.001):.4f} N",
        "span": f"{span} ± 0.5 mm",
        "width": f"{width:.1f} mm",
        "thickness": f"{thickness:.2f} ± 0.05 mm",
        "deflection": "2.0 ± 0.1 mm",
    }


def _cantilever(rng: random.Random, like: Profile) -> Entry:
    thickness, width, length = rng.uniform(2.0, 4.0), rng.uniform(8.0, 15.0), 50.0
    load = 3.0 * like.modulus * width * thickness**3 / (4 * length**3)
    return {
        "test": "cantilever_bend",
        "load": f"{load:.4f} ± {max(0.02 * load, 0.001):.4f} N",
        "length": f"{length} ± 0.5 mm",
        "width": f"{width:.1f} mm",
        "thickness": f"{thickness:.2f} ± 0.05 mm",
        "deflection": "3.0 ± 0.2 mm",
    }


def _modulus(rng: random.Random, like: Profile) -> Entry:
    value = like.modulus * math.exp(rng.gauss(0.0, 0.2))
    return {"test": "modulus", "modulus": f"{value:.1f} ± {0.05 * value:.1f} MPa"}


def _feel(rng: random.Random, like: Profile) -> Entry:
    felt = like.modulus * math.exp(rng.gauss(0.0, 0.5))
    word = "limp" if felt < 10 else "flexible" if felt < 70 else "semi-rigid" if felt < 700 else "rigid"
    return {"test": "feel", "outcome": word}


def _hardness(rng: random.Random, like: Profile) -> Entry:
    scale, value = ("shore_a", rng.gauss(70.0, 8.0)) if like.modulus < 60 else ("shore_d", rng.gauss(68.0, 7.0))
    return {"test": scale, "hardness": f"{value:.0f}"}


def _dsc(rng: random.Random, like: Profile) -> Entry:
    if not like.peak:
        return rng.choice(
            (
                {"test": "melting_peak", "outcome": "none"},
                {"test": "glass_transition", "temperature": f"{rng.gauss(95.0, 15.0):.1f} ± 1 degC"},
            )
        )
    return rng.choice(
        (
            {"test": "melting_peak", "outcome": "seen"},
            {"test": "dsc_peak", "temperature": f"{rng.gauss(like.peak, 2.0):.1f} ± 0.5 degC"},
            {"test": "heat_of_fusion", "heat": f"{rng.uniform(30.0, 200.0):.0f} J/g"},
        )
    )


def _uptake(rng: random.Random, _: Profile) -> Entry:
    dry = rng.uniform(5.0, 20.0)
    return {
        "test": "water_uptake",
        "dry": f"{dry:.3f} g",
        "wet": f"{dry * (1 + rng.uniform(0.0005, 0.012)):.3f} g",
        "thickness": "3.0 mm",
    }


def _flow(rng: random.Random, _: Profile) -> Entry:
    return {
        "test": "melt_flow_rate",
        "rate": f"{math.exp(rng.uniform(-1.0, 3.0)):.2f} g/10min",
        "temperature": rng.choice(("190 degC", "230 degC")),
        "load": "2.16 kg",
        "process": rng.choice(("unknown", "injection moulding")),
    }


def _bands(rng: random.Random, like: Profile) -> Entry:
    bands = {"waxy": [2915, 2848, 1472, 718]}.get(like.surface, [2950, 1456, 1376, 998])
    return {"test": "infrared", "bands": [band + rng.randint(-2, 2) for band in bands], "how": "reflected"}


def _mark(rng: random.Random, like: Profile) -> Entry:
    return {"test": "mark", "reads": rng.choice(("unmarked", *like.marks))}


def _looks(rng: random.Random, like: Profile) -> Entry:
    test, word = rng.choice(
        (("transparency", like.clear), ("surface_feel", like.surface), ("article", like.article)),
    )
    return {"test": test, "outcome": word}


def _word(rng: random.Random, _: Profile) -> Entry:
    test = rng.choice(list(WORDS))
    field = "pencil" if test == "pencil_hardness" else "outcome"
    return {"test": test, field: rng.choice(WORDS[test])}


TESTS: Final[dict[Callable[[random.Random, Profile], Entry], float]] = {
    _density: 2,
    _weighing: 2,
    _cylinder: 0.5,
    _overflow: 0.5,
    _float: 6,
    _softening: 2,
    _hot_plate: 2,
    _bend: 1,
    _cantilever: 0.5,
    _modulus: 1,
    _feel: 2,
    _hardness: 1.5,
    _dsc: 2,
    _uptake: 0.5,
    _flow: 0.7,
    _bands: 0.5,
    _mark: 2,
    _looks: 3,
    _word: 6,
}
"""What may be done to a piece, and how often."""


def _observations(rng: random.Random, like: Profile, most: int) -> list[Entry]:
    makers = rng.choices(list(TESTS), weights=list(TESTS.values()), k=rng.randint(1, most))
    return [make(rng, like) for make in makers]


def _like(rng: random.Random) -> Profile:
    return PROFILES[rng.choice(list(PROFILES))]


def _piece(rng: random.Random) -> Entry:
    prior = rng.choice(("default", "default", "default", "uniform", "world-waste"))
    return {"observations": _observations(rng, _like(rng), 7), "prior": prior}


def _bag_entries(rng: random.Random, resin: str) -> Entry:
    made: Entry = {"process": rng.choice(("unknown", "injection moulding", "film"))}
    like = PROFILES[resin]
    if rng.random() < 0.7:
        made["marked"] = {resin: rng.randint(3, 60)}
        if rng.random() < 0.2:
            made["marked"][rng.choice(list(PROFILES))] = 1
    if rng.random() < 0.5 or "marked" not in made:
        cold = (_density, _float, _feel, _hot_plate)
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
    cold = (_density, _weighing, _float, _float, _feel, _looks, _mark)
    like = _like(rng)
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
        done = [_float(rng, like) for like in likes]
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
        "feel": lambda like: str(_feel(rng, like)["outcome"]),
        "transparency": lambda like: like.clear,
        "snap": lambda _: rng.choice(WORDS["snap"]),
        "mark": lambda like: str(_mark(rng, like)["reads"]),
    }[part]
    return {f"{test}.{field}": [word(like) for like in likes]}


def _table(rng: random.Random) -> Entry:
    """Forty rows in some mix of columns, tests left out here and there."""
    likes = [_like(rng) for _ in range(ROWS)]
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
        "factors": [dict(zip(answer.resins, row, strict=True)) for row in answer.factors],
        "mishap": list(answer.mishap),
        "variants": dict(answer.variants),
        "unstated": [[*resins] for _, resins in answer.unstated],
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
        "strangers": {one.resin: [one.mean, one.limit, one.wanted, one.further] for one in whole.strangers},
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
    asked = {key: case[key] for key in ("have", "question", "by", "allow")}
    advice = resinid.next_tests(case["observations"], **asked)
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
    numbers = frame.drop(columns=["do_not_heat", "error"])
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
        data = {"format": FORMAT, "version": resinid.default_table().digest, "questions": cases, "answers": made}
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
