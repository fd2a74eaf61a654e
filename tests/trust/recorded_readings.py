"""Invented readings of an invented piece, to be asked about when answers are recorded.

They are drawn without asking the library anything, as documents a person could write.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final, NamedTuple

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

    Entry = dict[str, Any]

__all__ = [
    "PROFILES",
    "WORDS",
    "Profile",
    "any_profile",
    "density",
    "feel",
    "float_test",
    "hot_plate",
    "looks",
    "mark",
    "observations",
    "weighing",
]


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


def density(rng: random.Random, like: Profile) -> Entry:
    u = rng.choice((0.001, 0.004, 0.01))
    return {"test": "density", "density": f"{rng.gauss(like.density, 0.006 + u):.4f} ± {u} g/cm3"}


def weighing(rng: random.Random, like: Profile) -> Entry:
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


def float_test(rng: random.Random, like: Profile) -> Entry:
    jug = rng.choice(list(JUGS))
    over = rng.gauss(like.density, 0.006) - JUGS[jug]
    outcome = "hovers" if abs(over) < 0.002 else "floats" if over < 0 else "sinks"
    return {"test": "float", "liquid": jug, "outcome": outcome}


def _softening(rng: random.Random, like: Profile) -> Entry:
    if math.isinf(like.softens):
        return {"test": "charring", "heated_to": "280 ± 2 degC", "seen": rng.choice(("charred", "unchanged"))}
    return {"test": "softening", "temperature": f"{rng.gauss(like.softens, 5.0):.0f} ± 2 degC"}


def hot_plate(rng: random.Random, like: Profile) -> Entry:
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


def feel(rng: random.Random, like: Profile) -> Entry:
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


def mark(rng: random.Random, like: Profile) -> Entry:
    return {"test": "mark", "reads": rng.choice(("unmarked", *like.marks))}


def looks(rng: random.Random, like: Profile) -> Entry:
    test, word = rng.choice(
        (("transparency", like.clear), ("surface_feel", like.surface), ("article", like.article)),
    )
    return {"test": test, "outcome": word}


def _word(rng: random.Random, _: Profile) -> Entry:
    test = rng.choice(list(WORDS))
    field = "pencil" if test == "pencil_hardness" else "outcome"
    return {"test": test, field: rng.choice(WORDS[test])}


TESTS: Final[dict[Callable[[random.Random, Profile], Entry], float]] = {
    density: 2,
    weighing: 2,
    _cylinder: 0.5,
    _overflow: 0.5,
    float_test: 6,
    _softening: 2,
    hot_plate: 2,
    _bend: 1,
    _cantilever: 0.5,
    _modulus: 1,
    feel: 2,
    _hardness: 1.5,
    _dsc: 2,
    _uptake: 0.5,
    _flow: 0.7,
    _bands: 0.5,
    mark: 2,
    looks: 3,
    _word: 6,
}
"""What may be done to a piece, and how often."""


def observations(rng: random.Random, like: Profile, most: int) -> list[Entry]:
    makers = rng.choices(list(TESTS), weights=list(TESTS.values()), k=rng.randint(1, most))
    return [make(rng, like) for make in makers]


def any_profile(rng: random.Random) -> Profile:
    return PROFILES[rng.choice(list(PROFILES))]
