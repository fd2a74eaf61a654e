"""Infrared: band lists from other publications than the table's find their polymer."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS

from resinid import InputError, default_reference, identify, identify_table, next_tests, observe
from resinid.io.build import build
from resinid.methods.infrared import bands as table_of_bands
from resinid.methods.infrared import spectra
from resinid.methods.infrared.bands import COLUMNS, rise
from resinid.methods.infrared.bands import bands as bands_of
from resinid.methods.infrared.method import METHOD, TOOL
from resinid.methods.infrared.spectra import SHARED, SPECTRUM, chances, names
from resinid.methods.registry import find_test
from resinid.reference.files import read_csv
from resinid.reference.method_rows import sources_of
from resinid.reference.rules import UNSOURCED
from resinid.testing import check_method

if TYPE_CHECKING:
    from numpy.typing import NDArray

POLYETHYLENE = "2916, 2848, 1472, 1462, 730, 717 1/cm"

ROWS = read_csv(SPECTRUM.folder / "bands.csv", COLUMNS)

WORKSHOP = (
    "polyethylene",
    "polypropylene",
    "polystyrene",
    "polyvinyl chloride",
    "poly(ethylene terephthalate)",
    "poly(methyl methacrylate)",
    "polycarbonate",
    "acrylonitrile-butadiene-styrene",
    "ethylene-vinyl acetate",
    "polyurethane",
)

# Zhang and others, J. Quant. Spectrosc. Radiat. Transf. 252, 107063 (2020), PMMA (Mitsubishi): wavenumber, n, k.
CARBONYL = (
    (1697.245, 1.55983, 0.0245),
    (1704.943, 1.60143, 0.0397),
    (1712.651, 1.65492, 0.102),
    (1720.371, 1.65705, 0.246),
    (1728.101, 1.53325, 0.364),
    (1735.810, 1.34527, 0.35),
    (1743.527, 1.23647, 0.221),
    (1751.221, 1.25301, 0.0834),
    (1758.953, 1.30936, 0.022),
)

PUBLISHED = {
    # None of these fed bands.csv, save where it says so.
    # NIST, certificate of SRM 1921, thirteen certified bands of a polystyrene film (from memory, the
    # certificate's opening read); the strongest bands are too strong to be certified and are not listed.
    "polystyrene": "3082.2 3060.0 3026.4 3001.4 2849.5 1942.9 1601.2 1583.0 1154.5 1028.3 906.8 842.0 545",
    # Zhang and others, J. Quant. Spectrosc. Radiat. Transf. 252, 107063 (2020), n and k of PET and of PMMA
    # (Mitsubishi): maxima of the reflection on diamond at 45 degrees that Fresnel's equations give.
    "poly(ethylene terephthalate)": "2962 1711 1505 1452 1406 1373 1236 1087 1013 974 872 719",
    "poly(methyl methacrylate)": "2948 1722 1440 1386 1239 1185 1139 1067 984 841 751",
    # Querry, Optical constants of minerals and other materials, CRDEC-CR-88009 (1987), n and k of a silicone
    # fluid: maxima picked in the same way.
    "silicone": "2962 1259 1008 785 689",
    # ACS Omega 2020, PMC7460092, table 1, poly(vinylidene fluoride) fibres (read).
    "poly(vinylidene fluoride)": "845 882 944 1076 1121 1185 1245 1284 1341 1398 1428",
    # Infrared spectrum of polyvinyl chloride II, abstract (read).
    "polyvinyl chloride": "1428 1333 1255 1094 969 837",
    # Orientation of polypropylene film by polarised infrared spectra (in Chinese, title and authors not
    # seen), abstract: four bands only (read).
    "polypropylene": "1256 997 973 840",
    # A study of celluloid objects, bands of cellulose nitrate named in its text (excerpt, title not seen).
    "cellulose nitrate": "1740 1650 1280 920 750 690",
    # ITES, FT-IR of ABS, the bands named (read).
    "acrylonitrile-butadiene-styrene": "3027 2237 1494 966 761 701",
}


# Spectra that light went through, of which nothing fed the table's positions for that polymer so seen.
THROUGH = {
    "polystyrene": PUBLISHED["polystyrene"],
    # Zhang and others (2020), PMMA (Mitsubishi): maxima of absorption.
    "poly(methyl methacrylate)": "2995 2949 1731 1479 1445 1387 1243 1190 1150 1068 987 842 753",
    # Querry (1987), silicone fluid: maxima of absorption, less that at 865, which fed the table.
    "silicone": "2964 2905 1413 1262 1095 1025 802 701",
}

# Zhang and others (2020), PET: maxima of absorption. They are the table's own, but see the test with them left out.
PET = "poly(ethylene terephthalate)"
PET_THROUGH = "2964 1725 1505 1452 1408 1374 1265 1104 1020 976 875 730"

# Zhang and others (2020), polyetherimide, which fed nothing: maxima of reflection on diamond at 45 degrees that
# Fresnel's equations give and of absorption, those bands whose absorption is at least a fifth of the strongest.
POLYETHERIMIDE = (
    (1712.1, 1725.2),
    (1597.0, 1601.9),
    (1474.0, 1480.7),
    (1445.4, 1449.9),
    (1346.4, 1359.0),
    (1265.3, 1273.7),
    (1225.6, 1237.5),
)


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


@pytest.mark.parametrize("how", ["not said", "through"])
@pytest.mark.parametrize("polymer", THROUGH)
def test_published_lists_of_films_find_their_polymer(polymer: str, how: str) -> None:
    found = chances(bands(THROUGH[polymer]), (), 600.0, 4000.0, how)
    assert names()[int(found.argmax())] == polymer
    assert found.max() > 0.9


def test_pet_that_light_went_through_is_no_pbt() -> None:
    """Its ester band then stands at 1265, not 1240, where PBT has it by reflection: said or not, it is PET.

    Said to be reflected it is not, so whoever says so must be right.
    """
    of = {how: chances(bands(PET_THROUGH), (), 600.0, 4000.0, how) for how in ("not said", "through", "reflected")}
    for how in ("not said", "through"):
        assert of[how][names().index(PET)] > 0.95
    assert names()[int(of["reflected"].argmax())] == "poly(butylene terephthalate)"


def test_the_general_rise_finds_pet_without_its_own_film_spectrum(monkeypatch: pytest.MonkeyPatch) -> None:
    """With PET's film positions left out of the table, and PET out of the fit of the rise, PET is still found.

    The list is by Zhang and others (2020), the positions moved are those of PET by reflection (Polym. Degrad.
    Stab. 98, 1225, 2013, table 3); the fit without PET's bands has 6.1, 1.5 and 0.7 with scatter 5.5, 1.0 and 0.6.
    """
    monkeypatch.setattr(table_of_bands, "RISE", {"strong": (6.1, 5.5), "medium": (1.5, 1.0), "weak": (0.7, 0.6)})
    own = bands_of("reflected")[PET]
    moved = np.array([rise(word, at) for word, at in zip(own.strength, own.position.tolist(), strict=True)])
    film = replace(own, position=own.position + moved[:, 0], further=np.hypot(own.further, moved[:, 1]))
    monkeypatch.setattr(
        spectra, "bands", lambda how="reflected": bands_of(how) | ({PET: film} if how != "reflected" else {})
    )
    found = chances.__wrapped__(bands(PET_THROUGH), (), 600.0, 4000.0, "through")
    assert names()[int(found.argmax())] == PET
    assert found.max() > 0.6


def test_the_general_rise_holds_for_a_polymer_that_fed_nothing() -> None:
    """Strong bands of polyetherimide rise as foretold, within the scatter stated."""
    off = [(passed - back - rise("strong", back)[0]) / rise("strong", back)[1] for back, passed in POLYETHERIMIDE]
    assert abs(float(np.mean(off))) < 1.0
    assert float(np.sqrt(np.mean(np.square(off)))) < 1.5


def test_no_band_stands_lower_where_light_went_through() -> None:
    """Where print gives both positions; 1 1/cm is left for two publications of one polymer and for rounding."""
    both = [(float(row["reflected"]), float(row["through"])) for row in ROWS if row["reflected"] and row["through"]]
    assert len(both) > 100
    assert all(passed - back >= -1.0 for back, passed in both)


def test_pbt_stays_pbt() -> None:
    """Its own strong bands, from memory, are not taken for PET seen the other way."""
    found = chances(bands("1711 1268 1102 1018 873 726"), (), 600.0, 4000.0)
    assert names()[int(found.argmax())] == "poly(butylene terephthalate)"


def test_how_it_was_taken_is_asked_and_told() -> None:
    piece = {"test": "infrared", "bands": PET_THROUGH}
    said, unsaid = (identify([piece | more]) for more in ({"how": "through"}, {}))
    assert said["PET"] / said["PBT"] > unsaid["PET"] / unsaid["PBT"] > 1.0
    assert "light passed through" in observe("infrared", bands=PET_THROUGH, how="through").describe()
    assert observe("infrared", bands=PET_THROUGH, how="not said") == observe("infrared", bands=PET_THROUGH)


def test_four_bands_of_a_copolymer_lead_to_it() -> None:
    """Comparison of vinyl acetate contents of EVA analyzed by IR, NMR, and TGA (2015), abstract: bands it measures."""
    found = chances(bands("2922 1739 1464 609"), (), 600.0, 4000.0)
    assert names()[int(found.argmax())] == "ethylene-vinyl acetate"


def reflected(n: NDArray[np.float64], k: NDArray[np.float64], crystal: float = 2.38) -> NDArray[np.float64]:
    """Return the absorbance that one reflection at 45 degrees in a diamond shows (Fresnel's equations)."""
    index, cos = n + 1j * k, math.sqrt(0.5)
    root = np.sqrt(index**2 - (crystal * cos) ** 2)
    across = (crystal * cos - root) / (crystal * cos + root)
    along = (index**2 * cos - crystal * root) / (index**2 * cos + crystal * root)
    absorbance: NDArray[np.float64] = -np.log10((abs(across) ** 2 + abs(along) ** 2) / 2)
    return absorbance


def test_reflection_lies_below_absorption() -> None:
    """Why strong bands stand lower here than in a film that light went through: refraction rises below a band.

    The carbonyl of PMMA by Zhang and others (2020), tabulated every 7.7 1/cm: absorption is highest at
    1728, reflection on diamond at 1720, and there the table has each, read from another publication.
    """
    wavenumber, n, k = np.array(CARBONYL).T
    passed, thrown_back = (float(wavenumber[np.argmax(of)]) for of in (wavenumber * k, reflected(n, k)))
    assert passed - thrown_back == pytest.approx(7.7, abs=0.1)
    for how, found, other in (("reflected", thrown_back, passed), ("through", passed, thrown_back)):
        known = bands_of(how)["poly(methyl methacrylate)"].position
        nearest = float(known[np.argmin(abs(known - found))])
        assert abs(nearest - found) < abs(nearest - other)
    mean, scatter = rise("strong", thrown_back)
    assert abs(passed - thrown_back - mean) < scatter


def test_what_was_recalled_tells_less() -> None:
    """A band 6 1/cm off counts against a spectrum less where the table's position was recalled than where it was read.

    In the table carbonyl of polycarbonate was read, that of poly(butylene terephthalate) recalled.
    """
    reference = {(row["spectrum"], row["reflected"]): row["obtained"] for row in ROWS}
    assert reference["polycarbonate", "1768"] == "dataset"
    assert reference["poly(butylene terephthalate)", "1711"] == "memory"
    index = names().index("polycarbonate"), names().index("poly(butylene terephthalate)")
    lists = (bands("1768 1219 1501"), bands("1774 1219 1501")), (bands("1711 1268 1102"), bands("1717 1268 1102"))
    odds = [
        [found[at] / found[-1] for found in (chances(seen, (), 600.0, 4000.0, "reflected") for seen in pair)]
        for at, pair in zip(index, lists, strict=True)
    ]
    lost = [near / off for near, off in odds]
    assert lost[0] > lost[1] > 1.0


def test_most_bands_of_the_workshop_resins_were_read() -> None:
    """Of PE, PP, PS, PVC, PET, PMMA, PC, ABS, EVA and PUR; hardly any of polyamide, acetal, PBT."""
    main = [row for row in ROWS if row["spectrum"] in WORKSHOP]
    assert {row["spectrum"] for row in main} == set(WORKSHOP)
    assert sum(row["obtained"] not in UNSOURCED for row in main) / len(main) > 0.8


def test_a_list_without_the_bands_that_tell_is_left_open() -> None:
    """EAG Laboratories list ten bands of an ABS box, none of its rubber (966, 911); so it may be SAN as well.

    Either has nitrile and styrene bands; nothing without both comes near. Most of the table's bands of
    both come from this list, so it is no check of their positions.
    """
    found = chances(bands("3062 3027 2922 2848 2238 1602 1475 1452 759 701"), (), 600.0, 4000.0)
    by_name = dict(zip(names(), found.tolist(), strict=True))
    assert by_name["acrylonitrile-butadiene-styrene"] > 0.1
    assert by_name["acrylonitrile-butadiene-styrene"] + by_name["styrene-acrylonitrile"] > 0.95


@pytest.mark.slow
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


@pytest.mark.slow
@SETTINGS
@given(
    st.lists(st.floats(600.0, 3900.0), min_size=2, max_size=20, unique=True),
    st.randoms(),
    st.sampled_from(["not said", "reflected", "through"]),
)
def test_order_does_not_matter(seen: list[float], shuffled: object, how: str) -> None:
    """A list of bands says the same in any order, and its chances add up to one."""
    other = list(seen)
    shuffled.shuffle(other)  # type: ignore[attr-defined]  # because hypothesis gives a random.Random
    one, two = (observe("infrared", bands=given) for given in (seen, other))
    assert one == two
    assert math.fsum(chances(tuple(seen), (), 600.0, 4000.0, how)) == pytest.approx(1.0)


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
        ({"bands": POLYETHYLENE, "how": "guessed"}, "not said, reflected, through"),
        ({"bands": POLYETHYLENE, "strong": "1700"}, "not among the bands"),
        ({"bands": POLYETHYLENE, "low": 3000.0, "high": 2000.0}, "not below high"),
    ],
)
def test_faults_are_told(fields: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        build(find_test("infrared"), fields)


def test_every_resin_has_a_spectrum_and_every_row_a_source() -> None:
    latent = SPECTRUM.latent(default_reference())
    assert all(latent.stated)
    assert np.allclose(latent.mass.sum(axis=1), 1.0)
    used = frozenset[str]().union(*latent.sources)
    assert used <= {source.key for source in sources_of(SPECTRUM.folder)}


def test_it_is_offered_where_there_is_a_spectrometer_and_tables_take_it() -> None:
    assert "spectrum" in {found.plan.test for found in next_tests(bench=TOOL).suggestions}
    assert "spectrum" not in {found.plan.test for found in next_tests(bench="strip").suggestions}
    frame = pd.DataFrame({"infrared.bands": [POLYETHYLENE, None], "spectrum.outcome": [None, "polystyrene"]})
    reference = identify_table(frame).to_frame()
    pieces = ([{"test": "infrared", "bands": POLYETHYLENE}], [{"test": "spectrum", "outcome": "polystyrene"}])
    for row, made in enumerate(pieces):
        answer = identify(made)
        assert [reference.loc[row, symbol] for symbol in answer.resins] == pytest.approx(answer.probability, abs=1e-9)
