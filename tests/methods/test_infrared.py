"""Infrared: band lists from other publications than the table's find their polymer."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS

from resinid import InputError, default_table, identify, identify_table, next_tests, observe
from resinid.door.fields import build
from resinid.methods.infrared.method import METHOD, TOOL
from resinid.methods.infrared.spectra import SHARED, SPECTRUM, chances, names
from resinid.methods.registry import find_test
from resinid.table.brought import sources_of
from resinid.testing import check_method

POLYETHYLENE = "2916, 2848, 1472, 1462, 730, 717 1/cm"

PUBLISHED = {
    # NIST, certificate of SRM 1921, thirteen certified bands of a polystyrene film (from memory, the
    # certificate's opening read); the strongest bands are too strong to be certified and are not listed.
    "polystyrene": "3082.2 3060.0 3026.4 3001.4 2849.5 1942.9 1601.2 1583.0 1154.5 1028.3 906.8 842.0 545",
    # Polymer Degradation and Stability 98, 1225 (2013), table 3, PET film (read).
    "poly(ethylene terephthalate)": "2960 2919 2849 1712 1579 1505 1471 1453 1408 1385 1371 1339 1240 1175 1117 1095 "
    "1044 1017 970 896 872 846 791 721",
    # Polymers 9, 277 (2017), table 1, polyurethane scaffold (read).
    "polyurethane": "3319 2930 2859 1726 1655 1527 1451 1420 1354 1314 1221 1168 1138 1080 1036 969 943 871 779",
    # ACS Omega 2020, PMC7460092, table 1, poly(vinylidene fluoride) fibres (read).
    "poly(vinylidene fluoride)": "845 882 944 1076 1121 1185 1245 1284 1341 1398 1428",
    # Advances in Polymer Technology 2023, 9937270, table 3, neat polylactide (read).
    "polylactide": "2973 1750 1451 1382 1186 1081 867 751 689",
    # Infrared spectrum of polyvinyl chloride II, abstract (read).
    "polyvinyl chloride": "1428 1333 1255 1094 969 837",
    # PLOS ONE 0189650 (2018), caption of figure 4, isotactic polypropylene: four bands only (read).
    "polypropylene": "1167 997 972 840",
    # A study of celluloid objects, bands of cellulose nitrate named in its text (excerpt, title not seen).
    "cellulose nitrate": "1740 1650 1280 920 750 690",
    # ITES, FT-IR of ABS, the bands named (read).
    "acrylonitrile-butadiene-styrene": "3027 2237 1494 966 761 701",
}


def bands(text: str) -> tuple[float, ...]:
    return tuple(sorted(float(word) for word in text.replace("1/cm", "").replace(",", " ").split()))


def test_it_keeps_the_contract() -> None:
    assert len(check_method(METHOD, readings={"infrared": [{"bands": POLYETHYLENE}]})) > len(SHARED)


def test_the_worked_list_is_polyethylene() -> None:
    """The doublets at 1472/1462 and 730/717 are crystalline polyethylene's (any textbook of polymer spectroscopy)."""
    answer = identify([{"test": "infrared", "bands": POLYETHYLENE}])
    assert sum(answer[kind] for kind in ("PE-HD", "PE-MD", "PE-LLD", "PE-LD")) > 0.97


@pytest.mark.parametrize("polymer", PUBLISHED)
def test_published_lists_find_their_polymer(polymer: str) -> None:
    found = chances(bands(PUBLISHED[polymer]), (), 600.0, 4000.0)
    assert names()[int(found.argmax())] == polymer
    assert found.max() > 0.5


def test_a_list_without_the_bands_that_tell_is_left_open() -> None:
    """EAG Laboratories list ten bands of an ABS box, none of its rubber (966, 911); so it may be SAN as well.

    Either has nitrile and styrene bands; nothing without both comes near.
    """
    found = chances(bands("3062 3027 2922 2848 2238 1602 1475 1452 759 701"), (), 600.0, 4000.0)
    by_name = dict(zip(names(), found.tolist(), strict=True))
    assert by_name["acrylonitrile-butadiene-styrene"] > 0.1
    assert by_name["acrylonitrile-butadiene-styrene"] + by_name["styrene-acrylonitrile"] > 0.95


@SETTINGS
@given(st.lists(st.floats(600.0, 3900.0), min_size=2, max_size=20, unique=True))
def test_what_shares_a_spectrum_stays_as_it_was(seen: list[float]) -> None:
    """Whatever bands are seen, resins that share a spectrum keep their odds: the kinds of polyethylene among them."""
    answer = identify([{"test": "infrared", "bands": seen}])
    before = dict(zip(answer.resins, answer.prior, strict=True))
    for resins in SHARED.values():
        first, *others = resins.split()
        for other in others:
            assert answer[other] / answer[first] == pytest.approx(before[other] / before[first], rel=1e-9)


@SETTINGS
@given(st.lists(st.floats(600.0, 3900.0), min_size=2, max_size=20, unique=True), st.randoms())
def test_order_does_not_matter(seen: list[float], shuffled: object) -> None:
    """A list of bands says the same in any order, and its chances add up to one."""
    other = list(seen)
    shuffled.shuffle(other)  # type: ignore[attr-defined]  # because hypothesis gives a random.Random
    one, two = (observe("infrared", bands=given) for given in (seen, other))
    assert one == two
    assert math.fsum(chances(tuple(seen), (), 600.0, 4000.0)) == pytest.approx(1.0)


def test_noise_is_another_polymer() -> None:
    """Bands where no listed polymer has any point to none of them."""
    found = chances((3700.0, 2650.0, 2500.0, 2150.0, 2050.0, 1880.0), (), 600.0, 4000.0)
    assert names()[int(found.argmax())] == "another"


def test_dirt_and_calibration_are_borne() -> None:
    """Chalk, water and 5 1/cm off do not hide polypropylene."""
    clean = bands("2950 2917 2838 1456 1376 1167 998 973 841")
    dirty = tuple(sorted((*(band + 5 for band in clean), 1420.0, 874.0, 3400.0, 1640.0)))
    assert names()[int(chances(dirty, (), 600.0, 4000.0).argmax())] == "polypropylene"


def test_strength_helps() -> None:
    """In PET the strong bands are the ester's, in polyethylene those of the chain; a mixture of both is ambiguous."""
    mixed = bands("2916 2848 1714 1472 1242 1096 723")
    ester = chances(mixed, bands("1714 1242 1096"), 600.0, 4000.0)
    chain = chances(mixed, bands("2916 2848"), 600.0, 4000.0)
    pet, polyethylene = names().index("poly(ethylene terephthalate)"), names().index("polyethylene")
    assert ester[pet] / ester[polyethylene] > 5 * chain[pet] / chain[polyethylene]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"bands": "2916"}, "names 1 bands"),
        ({"bands": "2916, abc"}, "no list of wavenumbers"),
        ({"bands": "2916, 99000"}, "lie from 400 to 4000"),
        ({"bands": 7}, "no list of wavenumbers"),
        ({"bands": POLYETHYLENE, "strong": "1700"}, "not among the bands"),
        ({"bands": POLYETHYLENE, "low": 3000.0, "high": 2000.0}, "not below high"),
    ],
)
def test_faults_are_told(fields: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        build(find_test("infrared"), fields)


def test_every_resin_has_a_spectrum_and_every_row_a_source() -> None:
    latent = SPECTRUM.latent(default_table())
    assert all(latent.stated)
    assert np.allclose(latent.mass.sum(axis=1), 1.0)
    used = frozenset[str]().union(*latent.sources)
    assert used <= {source.key for source in sources_of(SPECTRUM.folder)}


def test_it_is_offered_where_there_is_a_spectrometer_and_tables_take_it() -> None:
    assert "spectrum" in {found.plan.test for found in next_tests(have=TOOL).suggestions}
    assert "spectrum" not in {found.plan.test for found in next_tests(have="strip").suggestions}
    frame = pd.DataFrame({"infrared.bands": [POLYETHYLENE, None], "spectrum.outcome": [None, "polystyrene"]})
    table = identify_table(frame)
    pieces = ([{"test": "infrared", "bands": POLYETHYLENE}], [{"test": "spectrum", "outcome": "polystyrene"}])
    for row, made in enumerate(pieces):
        answer = identify(made)
        assert [table.loc[row, symbol] for symbol in answer.resins] == pytest.approx(answer.probability, abs=1e-9)
