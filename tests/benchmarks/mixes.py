"""Tables to time: each built-in test alone, and mixes as workshops and laboratories fill them in.

Readings are rounded to the last digit of the instrument, as people note them; only "a logger" keeps
all digits. A tenth of the cells is empty. Uncertainties and instruments: common practice, no source.
"""

from __future__ import annotations

import functools
import math
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from resinid import default_reference
from resinid.io.fields import field_rules, options_of
from resinid.methods.registry import built_in
from resinid.reference.mixture import mixture

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Columns = dict[str, object]

__all__ = ["ALLOW", "MIXES", "drawn_values", "each_alone", "table"]

ALLOW: Final = ("burn", "copper wire", "hot plate", "solvent")
EMPTY: Final = 0.1

WATER: Final = "water at 20 degC"
JUGS: Final = ((WATER, 0.9982), ("ethanol 40 %v/v at 20 degC", 0.9480), ("table salt saturated", 1.2009))
LATENTS: Final = ("density", "softening_temperature", "flexural_modulus")
USUAL: Final = {"density": 1.1, "softening_temperature": 150.0, "flexural_modulus": 1500.0}
"""Value of pieces of which the table states none."""


def drawn_values(count: int, seed: int = 20261125) -> dict[str, Array]:
    """Density [g/cm3], softening temperature [degC] and modulus [MPa] of pieces of all variants of the table."""
    rng = np.random.default_rng(seed)
    reference = default_reference()
    picked = rng.integers(len(reference.variants), size=count)
    out: dict[str, Array] = {}
    for latent in LATENTS:
        plain = latent == "softening_temperature"
        value = np.full(count, USUAL[latent] if plain else math.log(USUAL[latent]))
        for index, variant in enumerate(reference.variants):
            rows = np.flatnonzero(picked == index)
            normals = mixture(reference, variant, latent).normals
            if normals and rows.size:
                weights = np.array([normal.weight for normal in normals])
                chosen = rng.choice(len(normals), rows.size, p=weights / weights.sum())
                mean, sd = (np.array([getattr(normal, name) for normal in normals])[chosen] for name in ("mean", "sd"))
                value[rows] = mean + sd * rng.standard_normal(rows.size)
        out[latent] = value if plain else np.exp(value)
    out["density"] = np.clip(out["density"], 0.02, 2.5)
    out["softening_temperature"] = np.clip(out["softening_temperature"], 30.0, 400.0)
    out["flexural_modulus"] = np.clip(out["flexural_modulus"], 1.0, 25000.0)
    return out


class _Maker:
    """Makes the columns of tests done on the same pieces."""

    def __init__(self, count: int) -> None:
        self.rng = np.random.default_rng(7)
        self.true = drawn_values(count)
        self.count = count
        self.missing: dict[str, NDArray[np.bool_]] = {}

    def gap(self, test: str, column: Array | NDArray[np.object_]) -> Any:  # noqa: ANN401 - an array of the same kind
        """Return a column with empty cells, in the same rows for all columns of a test."""
        if test not in self.missing:
            self.missing[test] = self.rng.random(self.count) < EMPTY
        return np.where(self.missing[test], np.array(None if column.dtype == object else math.nan), column)

    def noisy(self, value: Array, u: float | Array, digit: float) -> Array:
        read = value + u * self.rng.standard_normal(self.count)
        return np.round(read / digit) * digit if digit else read

    def reading(self, field: str, unit: str, value: Array, u: float | Array, digit: float) -> Columns:
        read = self.gap(field, self.noisy(value, u, digit))
        return {f"{field} [{unit}]": read, f"{field}_u [{unit}]": np.broadcast_to(u, self.count).copy()}

    def together(self, test: str, unit: str, fields: Mapping[str, tuple[Any, float]]) -> Columns:
        """Columns of a test with several readings, each of which has an uncertainty."""
        out: Columns = {}
        for name, (value, u) in fields.items():
            read = self.gap(test, np.broadcast_to(value, self.count))
            out |= {f"{test}.{name} [{unit}]": read, f"{test}.{name}_u [{unit}]": np.full(self.count, u)}
        return out

    def word(self, test: str, outcomes: Array | NDArray[np.object_], field: str = "outcome") -> Columns:
        cells = self.gap(test, np.asarray(outcomes, dtype=object))
        return {f"{test}.{field}": pd.Categorical(cells)}

    def words(self, *tests: str) -> Columns:
        """Columns of tests in words, any outcome as often as another."""
        kinds = {kind.test: kind for method in built_in() for kind in method.tests}
        out: Columns = {}
        for test in tests:
            rules = field_rules(kinds[test])
            field = next(name for name in rules if options_of(rules[name]))
            out |= self.word(test, self.rng.choice(np.array(options_of(rules[field]), dtype=object), self.count), field)
        return out

    def density(self, u: float | Array, digit: float, test: str = "density") -> Columns:
        return self.reading(f"{test}.density", "g/cm3", self.true["density"], u, digit)

    def float_in(self, test: str, jug: str, bath: float) -> Columns:
        sinks = self.true["density"] + 0.0015 * self.rng.standard_normal(self.count) > bath
        done = self.word(test, np.where(sinks, "sinks", "floats"))
        return {f"{test}.liquid": pd.Categorical([jug] * self.count), **done}

    def jugs(self) -> Columns:
        out: Columns = {}
        for number, (jug, bath) in enumerate(JUGS, start=1):
            out |= self.float_in(f"float#{number}", jug, bath)
        return out

    def weighing(self) -> Columns:
        mass, rho = self.rng.uniform(5.0, 50.0, self.count), np.maximum(self.true["density"], 0.2)
        air = np.round(mass, 2)
        wet = np.round(mass * (1.0 - 0.9982 / rho) + 0.01 * self.rng.standard_normal(self.count) + 300.0, 2)
        columns = self.together("weighing", "g", {"in_air": (air, 0.01), "in_liquid": (wet, 0.01)})
        sinker = self.together("weighing", "g", {"sinker_in_liquid": (300.0, 0.01)})
        return columns | sinker | {"weighing.liquid": pd.Categorical([WATER] * self.count)}

    def cylinder(self) -> Columns:
        mass, before = np.round(self.rng.uniform(5.0, 50.0, self.count), 2), np.full(self.count, 50.0)
        after = np.round(2.0 * (before + np.maximum(mass / self.true["density"], 1.0))) / 2.0
        out = self.together("cylinder", "g", {"in_air": (mass, 0.01)})
        return out | self.together("cylinder", "cm3", {"before": (before, 0.3), "after": (after, 0.3)})

    def overflow(self) -> Columns:
        mass = np.round(self.rng.uniform(5.0, 50.0, self.count), 2)
        spilled = np.round(mass / self.true["density"], 2)
        out = self.together("overflow", "g", {"in_air": (mass, 0.01), "spilled": (spilled, 0.05)})
        return out | {"overflow.liquid": pd.Categorical([WATER] * self.count)}

    def softening(self, u: float = 2.0) -> Columns:
        return self.reading("softening.temperature", "degC", self.true["softening_temperature"], u, 1.0)

    def hot_plate(self) -> Columns:
        low = np.floor(self.true["softening_temperature"] / 20.0) * 20.0
        return self.together("hot_plate", "degC", {"not_melted_at": (low, 1.0), "melted_at": (low + 20.0, 1.0)})

    def charring(self) -> Columns:
        heated = np.round(self.rng.uniform(200.0, 300.0, self.count), -1)
        seen = self.word("charring", np.full(self.count, "unchanged", dtype=object), "seen")
        return self.together("charring", "degC", {"heated_to": (heated, 2.0)}) | seen

    def bend(self, test: str, length: str, factor: float) -> Columns:
        drop = 6.0
        load = self.true["flexural_modulus"] * 10.0 * 2.0**3 * drop / (factor * 80.0**3)
        load = np.maximum(np.round(load, 2), 0.01)
        sizes = {length: (80.0, 0.5), "width": (10.0, 0.2), "thickness": (2.0, 0.05), "deflection": (drop, 0.3)}
        return self.together(test, "N", {"load": (load, 0.02)}) | self.together(test, "mm", sizes)

    def modulus(self) -> Columns:
        true = self.true["flexural_modulus"]
        digit = 10.0 ** (np.floor(np.log10(true)) - 2.0)
        read = np.round(true * np.exp(0.1 * self.rng.standard_normal(self.count)) / digit) * digit
        return {"modulus.modulus [MPa]": self.gap("modulus", read), "modulus.modulus_u [MPa]": 0.1 * read}

    def shore(self, test: str) -> Columns:
        return self.reading(f"{test}.hardness", "", self.rng.uniform(30.0, 90.0, self.count), 1.0, 1.0)

    def dsc(self) -> Columns:
        peak = self.reading("dsc_peak.temperature", "degC", self.true["softening_temperature"], 1.0, 0.1)
        heat = self.rng.uniform(20.0, 200.0, self.count)
        return peak | self.reading("heat_of_fusion.heat", "J/g", heat, 3.0, 1.0)

    def glass(self) -> Columns:
        true = np.minimum(self.true["softening_temperature"], 240.0)
        return self.reading("glass_transition.temperature", "degC", true, 2.0, 1.0)

    def uptake(self) -> Columns:
        dry = np.round(self.rng.uniform(5.0, 20.0, self.count), 3)
        wet = np.round(dry * (1.0 + 0.01 * self.rng.random(self.count)), 3)
        return self.together("water_uptake", "g", {"dry": (dry, 0.001), "wet": (wet, 0.001)})

    def flow_rate(self) -> Columns:
        rate = np.round(np.exp(self.rng.normal(1.5, 1.0, self.count)), 1) + 0.1
        out = self.together("melt_flow_rate", "g/10min", {"rate": (rate, 0.2)})
        out |= self.together("melt_flow_rate", "degC", {"temperature": (190.0, 0.5)})
        return out | self.together("melt_flow_rate", "kg", {"load": (2.16, 0.01)})

    def bands(self) -> Columns:
        known = np.array(["2915, 2848, 1472, 718", "2916, 1456, 1377", "1713, 1241, 1094, 720"], dtype=object)
        return self.word("infrared", self.rng.choice(known, self.count), "bands")

    def mark(self) -> Columns:
        return self.word("mark", self.rng.choice(np.array(["PE-HD", "5", ">ABS<"], dtype=object), self.count), "reads")


_MEASURED: Final[dict[str, Callable[[_Maker], Columns]]] = {
    "weighing": _Maker.weighing,
    "cylinder": _Maker.cylinder,
    "overflow": _Maker.overflow,
    "density": lambda m: m.density(0.004, 0.001),
    "float": lambda m: m.float_in("float", *JUGS[0]),
    "softening": _Maker.softening,
    "hot_plate": _Maker.hot_plate,
    "charring": _Maker.charring,
    "three_point_bend": lambda m: m.bend("three_point_bend", "span", 0.25),
    "cantilever_bend": lambda m: m.bend("cantilever_bend", "length", 4.0),
    "modulus": _Maker.modulus,
    "shore_a": lambda m: m.shore("shore_a"),
    "shore_d": lambda m: m.shore("shore_d"),
    "dsc_peak": lambda m: {k: v for k, v in m.dsc().items() if k.startswith("dsc_peak")},
    "heat_of_fusion": lambda m: {k: v for k, v in m.dsc().items() if k.startswith("heat")},
    "glass_transition": _Maker.glass,
    "water_uptake": _Maker.uptake,
    "melt_flow_rate": _Maker.flow_rate,
    "infrared": _Maker.bands,
    "mark": _Maker.mark,
}
"""How a test that is more than one word is filled in."""

MIXES: Final[dict[str, Callable[[_Maker], Columns]]] = {
    "easy: density, softening, modulus, three jugs": lambda m: (
        m.density(m.rng.uniform(0.003, 0.006, m.count), 0.0) | m.softening() | m.modulus() | m.jugs()
    ),
    "weighing and a float in one jug of water": lambda m: m.weighing() | m.float_in("float", *JUGS[0]),
    "weighing and floats in three jugs": lambda m: m.weighing() | m.jugs(),
    "a precise density": lambda m: m.density(0.0003, 0.0001),
    "a logger's precise density, all digits": lambda m: m.density(m.rng.uniform(0.0002, 0.0004, m.count), 0.0),
    "precise density and three jugs": lambda m: m.density(0.0003, 0.0001) | m.jugs(),
    "density measured twice": lambda m: m.density(0.004, 0.001) | m.density(0.005, 0.005, "density#2"),
    "softening and a hot plate, one thermometer": lambda m: m.softening() | m.hot_plate(),
    "hot plate, charring, words of the melt": lambda m: (
        m.hot_plate() | m.charring() | m.words("melt_clarity", "melt_pull", "melt_flow")
    ),
    "one hand: feel, Shore D, modulus, snap": lambda m: m.words("feel", "snap") | m.shore("shore_d") | m.modulus(),
    "a laboratory: density, DSC peak, heat, softening": lambda m: m.density(0.001, 0.001) | m.dsc() | m.softening(),
    "a sorting line's words: article, feel, looks": lambda m: m.words(
        "article", "process", "feel", "transparency", "drop_sound", "spring_back"
    ),
    "a run of five jugs, water twice": lambda m: (
        m.jugs() | m.float_in("float#4", *JUGS[0]) | m.float_in("float#5", "glycerol 40 %w/w at 20 degC", 1.0993)
    ),
}
"""Mixes of tests, the first being the easy one that all were measured by so far."""


def each_alone() -> dict[str, Callable[[_Maker], Columns]]:
    """Return for each built-in test what fills in its columns."""
    tests = [kind.test for method in built_in() for kind in method.tests]
    return {test: _MEASURED.get(test) or functools.partial(_words_alone, test) for test in tests}


def _words_alone(test: str, maker: _Maker) -> Columns:
    return maker.words(test)


@functools.lru_cache(maxsize=1)
def _maker(count: int) -> _Maker:
    return _Maker(count)


def table(columns: Callable[[_Maker], Columns], count: int) -> pd.DataFrame:
    """Return a table of so many pieces."""
    return pd.DataFrame(columns(_maker(count)))
