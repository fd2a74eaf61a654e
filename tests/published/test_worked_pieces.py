"""Pieces whose tests and resin are published, scored by the whole engine.

Expectations were written from their sources and are of three kinds: the leading
resin; some resins that together must be more likely than everything else (above
0.5); and some resins that must outweigh others by odds of 5, so that whoever acts
on the answer is wrong less than once in six (common practice, no source). Where
the engine disagrees with a publication the case stays as published, in
``KNOWN_MISSES``, with the figures. Rare resins measured by their makers, and no scrap,
are ranked under the uniform prior; as scrap they are among the misses.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Final

import pytest

from resinid.identification.identify import identify

Seen = dict[str, object]

ODDS: Final = 5.0
MAJORITY: Final = 0.5
STYRENICS: Final = ("PS", "PS-HI", "ABS", "SAN", "ASA")
THERMOSETS: Final = ("UP", "EP", "MF", "PF")


def floats(liquid: str | Seen) -> Seen:
    return {"test": "float", "liquid": liquid, "outcome": "floats"}


def sinks(liquid: str | Seen) -> Seen:
    return {"test": "float", "liquid": liquid, "outcome": "sinks"}


def density(value: str) -> Seen:
    return {"test": "density", "density": value}


def softens(temperature: str) -> Seen:
    return {"test": "softening", "temperature": temperature}


def hot_plate(*, no: str | None = None, yes: str | None = None) -> Seen:
    ends = {"not_melted_at": no, "melted_at": yes}
    return {"test": "hot_plate", **{key: end for key, end in ends.items() if end is not None}}


def bends(modulus: float) -> Seen:
    """Return the readings a strip of this flexural modulus [MPa] gives: F = 4 E b h^3 s / L^3."""
    load = 4 * modulus * 10 * 3**3 * 1 / 60**3
    strip = {"span": "60 mm", "width": "10 mm", "thickness": "3 mm", "deflection": "1.00 mm"}
    return {"test": "three_point_bend", "load": f"{load:.4g} N", **strip}


def chars(temperature: str) -> Seen:
    return {"test": "charring", "heated_to": temperature, "seen": "charred"}


@dataclass(frozen=True)
class Piece:
    """One piece, what its source says it is, and the source."""

    name: str
    observations: tuple[Seen, ...]
    source: str
    leader: str = ""
    together: tuple[str, ...] = ()
    over: tuple[str, ...] = ()
    prior: str = "default"
    disagreeing: tuple[int, ...] | None = field(default=None)

    def check(self) -> None:
        result = identify(self.observations, piece=self.name, prior=self.prior)
        ranking = ", ".join(f"{r} {p:.3f}" for r, p in list(zip(result.resins, result.probability, strict=True))[:6])
        if self.leader:
            assert result.leader == self.leader, ranking
        favoured = self.together or (self.leader,)
        mass = math.fsum(result[resin] for resin in favoured)
        if self.together and not self.over:
            assert mass > MAJORITY, ranking
        if self.over:
            assert mass > ODDS * math.fsum(result[resin] for resin in self.over), ranking
        if self.disagreeing is not None:
            assert result.disagreeing == self.disagreeing, ranking


ETHANOL_40: Final = "ethanol 40 %v/v at 20 degC"
KATZ_ALCOHOL: Final = "isopropanol 45.5 %v/v"
OIL: Final[Seen] = {"density": "0.917 ± 0.003 g/cm3", "label": "corn oil"}
BRINE: Final = "table salt saturated"

LADDER: Final = (
    "common practice: 40 %v/v alcohol (0.948 g/cm3) lies between the polyethylene of ASTM D2238 type III "
    "(0.941 to 0.965) and type I (0.910 to 0.925) and polypropylene (0.90 to 0.91)"
)
KATZ: Final = (
    "Katz D. A., Identification of polymers (1998), flow chart, https://tr.scribd.com/document/394985958 (excerpt): "
    "of what floats in water, HDPE sinks in the alcohol; of the rest LDPE sinks in oil and PP floats. That the alcohol "
    "is 45.5 % by volume: http://foodrecap.net/manufacture/pack/polymer-indentification/ (excerpt, after Katz). That "
    "it is isopropanol: a student report on the same flow chart begins the recipe '65 ml iso' and lists alcohol 0.93 "
    "and oil 0.917 g/cm3, https://www.scribd.com/document/664891000 (excerpt); 65 mL of 70 % to 100 mL are 45.5 %"
)
STUDENTS: Final = (
    "Casto J. and co-authors, Chem 151 student project (2023), https://www.scribd.com/document/688928233 (excerpt): "
    "PETE sinks in water and in NaCl solution, PS sinks in water and floats in NaCl solution, strength not stated"
)
D2238: Final = "ASTM D2238-92(2012)e1, scope: type I 0.910 to 0.925, II 0.926 to 0.940, III 0.941 to 0.965 g/cm3"
KMAC: Final = "K-mac Plastics, Phenolics technical data (excerpt), http://k-mac-plastics.net"

PIECES: Final = (
    Piece(
        "floats in water, sinks in 40 % ethanol",
        (floats("water"), sinks(ETHANOL_40)),
        LADDER,
        leader="PE-HD",
        over=("PE-LD", "PE-LLD", "PP"),
    ),
    Piece(
        "floats in water and in 40 % ethanol",
        (floats("water"), floats(ETHANOL_40)),
        LADDER,
        together=("PE-LD", "PE-LLD", "PP"),
    ),
    Piece(
        "floats in water and in 40 % ethanol: not high-density",
        (floats("water"), floats(ETHANOL_40)),
        LADDER,
        together=("PE-LD", "PE-LLD", "PP"),
        over=("PE-HD",),
    ),
    Piece(
        "Katz: sinks in the alcohol",
        (floats("water"), sinks(KATZ_ALCOHOL)),
        KATZ,
        leader="PE-HD",
        over=("PE-LD", "PP"),
    ),
    Piece(
        "Katz: floats in the alcohol, sinks in oil",
        (floats("water"), floats(KATZ_ALCOHOL), sinks(OIL)),
        KATZ,
        together=("PE-LD", "PE-LLD"),
    ),
    Piece(
        "Katz: floats in the alcohol and in oil",
        (floats("water"), floats(KATZ_ALCOHOL), floats(OIL)),
        KATZ,
        leader="PP",
    ),
    Piece(
        "sinks in 40 % isopropanol",
        (floats("water"), sinks("isopropanol 40 %v/v")),
        "Thai thesis, abstract (excerpt), "
        "https://www.thailis.or.th/tdc/browse.php?type=title&option=show&titleid=440201: isopropyl alcohol "
        "at 40 %v/v separates PP from HDPE; author and year not seen",
        leader="PE-HD",
        over=("PP",),
    ),
    Piece(
        "sinks in 23 % ethanol",
        (floats("water"), sinks("ethanol 23 %v/v")),
        "Meneses Quelal W. O., Velazquez-Marti B., Ferrer Gisbert A., Environ. Sci. Pollut. Res. 29, 1364-1374 (2022), "
        "doi:10.1007/s11356-021-15611-w (abstract): 23 % v/v ethanol separates HDPE from PP completely",
        leader="PE-HD",
        over=("PP",),
    ),
    Piece(
        "sinks in water, floats in saturated brine",
        (sinks("water"), floats(BRINE)),
        STUDENTS,
        together=STYRENICS,
        over=("PET", "PVC-U"),
    ),
    Piece(
        "sinks in water, floats in 10 g of salt to 100 g of water",
        (sinks("water"), floats("table salt 100 g/kg water")),
        "Perpetual Plastic Project, Plastic identification and separation (2014), "
        "http://www.perpetualplasticproject.com (excerpt): PS sinks in water and floats after 10 g of salt; PLA still "
        "sinks",
        together=STYRENICS,
        over=("PLA", "PET", "PVC-U"),
    ),
    Piece(
        "SRM 1475 linear polyethylene",
        (density("0.9784 g/cm3"),),
        "Brown J. E., J. Res. Natl. Bur. Stand. 76A, 143-144 (1972), doi:10.6028/jres.076A.016 (abstract)",
        leader="PE-HD",
        together=("PE-HD",),
    ),
    Piece(
        "talc-filled polypropylene that sinks",
        (density("1.05 g/cm3"), bends(2413), hot_plate(no="150 degC", yes="170 degC")),
        "RTP Company, 20 % talc-filled PP, data sheet: 1.05 g/cm3, flexural modulus 2413 MPa (also in the table); "
        "melting between 150 and 170 degC: common practice, PP homopolymer",
        leader="PP",
        together=("PP",),
    ),
    Piece(
        "flame-retardant polypropylene sheet",
        (density("0.988 g/cm3"), softens("164 degC"), bends(1000)),
        "Technical data sheet Polypropylene, stock shapes, https://www.scribd.com/document/631126760 (excerpt)",
        leader="PP",
        together=("PP",),
    ),
    Piece("ASTM type I polyethylene", (density("0.918 g/cm3"),), D2238, together=("PE-LD", "PE-LLD")),
    Piece("ASTM type II polyethylene", (density("0.933 g/cm3"),), D2238, leader="PE-MD", prior="uniform"),
    Piece("ASTM type III polyethylene", (density("0.953 g/cm3"),), D2238, leader="PE-HD", together=("PE-HD",)),
    Piece(
        "PVC pipe, not PET",
        (density("1.40 ± 0.012 g/cm3"), softens("121 ± 10 degC"), bends(2482)),
        "U.S. Plastic Corp., PVC pipe properties, contentkey 557 (excerpt): 1.40 +/- 0.02, 360 000 psi, softening "
        "starts at about 250 degF",
        leader="PVC-U",
        over=("PET",),
    ),
    Piece(
        "PET stock shape, not PVC",
        (density("1.38 g/cm3"), softens("255 degC"), bends(3000)),
        "Technical data sheet SUSTADUR PET, https://studylib.net/doc/25380728 (excerpt)",
        leader="PET",
        over=("PVC-U",),
    ),
    Piece(
        "acetal copolymer",
        (density("1.41 g/cm3"), softens("166 degC")),
        "Technical datasheet of a low-emission POM copolymer, https://www.scribd.com/document/752449843 (excerpt)",
        leader="POM",
        together=("POM",),
    ),
    Piece(
        "PTFE",
        (density("2.15 g/cm3"), bends(500)),
        "Plastech Coatings, Teflon typical properties (excerpt), https://www.plastechcoatings.com",
        leader="PTFE",
        together=("PTFE",),
        prior="uniform",
    ),
    Piece(
        "paper phenolic that chars",
        (density("1.34 g/cm3"), bends(9653), chars("300 degC")),
        f"{KMAC}, grade XX: 1.34, 1 400 000 psi; that it chars: common practice, no source",
        leader="PF",
        together=THERMOSETS,
    ),
    Piece(
        "glass-epoxy board that never softens",
        (density("1.82 g/cm3"), bends(18616), hot_plate(no="250 degC")),
        f"{KMAC}, grade G10/FR4: 1.82, 2 700 000 psi; laminates do not soften on heating: Boedeker Plastics, "
        "Industrial laminate specifications (excerpt)",
        together=THERMOSETS,
    ),
    Piece(
        "polycarbonate, not acrylic",
        (density("1.20 g/cm3"), bends(2100), softens("155 ± 10 degC")),
        "Covestro, Makrolon T 7435 (excerpt, lookpolymers.com): 1.20, 2100 MPa, Vicat 145 degC; a chip gives way some "
        "10 K above Vicat (common practice, as in the table's rules)",
        leader="PC",
        over=("PMMA",),
    ),
    Piece(
        "acrylic, not polycarbonate",
        (density("1.172 g/cm3"), softens("111 ± 10 degC")),
        "Article PMC7388655, Table 1, Plexiglas RV825: 1.172 g/cm3, transition at 101 degC; 10 K above as before",
        leader="PMMA",
        over=("PC",),
    ),
    Piece(
        "polyamide 6 by its melting",
        (density("1.14 g/cm3"), softens("223 degC")),
        "NETZSCH, PA6, DSC main peak at 223 degC (excerpt); density 1.14: PolyJARID cast PA6 06 (excerpt)",
        leader="PA6",
        over=("PA66",),
    ),
    Piece(
        "polyamide 66 by its melting",
        (density("1.14 g/cm3"), softens("260 degC")),
        "FDM Polymers: a technical reference, Table A.1: PA66 255 to 265 degC (also in the table)",
        leader="PA66",
        over=("PA6",),
    ),
    Piece(
        "polystyrene foam",
        (floats("water"), density("0.025 g/cm3"), hot_plate(no="80 degC", yes="130 degC")),
        "Duis K., Coors A., Environ. Sci. Eur. 28:2 (2016), Table 1: 0.01 to 0.04 g/cm3 (also in the table); that it "
        "collapses about 100 degC: common practice, no source",
        leader="PS-E",
    ),
    Piece(
        "cellulose acetate, 27 % plasticiser",
        (density("1.28 g/cm3"), bends(2137), softens("119 ± 10 degC")),
        "Eastman, Tenite acetate formula 105 selector chart, PP-121A (excerpt): 1.28, 2137 MPa, Vicat 109 degC; 10 K "
        "above as before",
        leader="CA",
        together=("CA",),
        prior="uniform",
    ),
    Piece(
        "vinylidene fluoride polymer",
        (density("1.78 ± 0.006 g/cm3"), softens("168 ± 3 degC")),
        "Arkema, Kynar automotive applications, 700 series (excerpt): 1.77 to 1.79 g/cm3, 165 to 172 degC",
        leader="PVDF",
        together=("PVDF",),
        prior="uniform",
    ),
    Piece(
        "PET whose first float test was botched by bubbles",
        (
            floats("water"),
            sinks("water"),
            sinks(BRINE),
            density("1.38 g/cm3"),
            softens("255 degC"),
            bends(3000),
        ),
        "SUSTADUR PET as above; that clinging bubbles lift chips: the student report cited with Katz pokes them free",
        leader="PET",
        together=("PET",),
        disagreeing=(0,),
    ),
)

PIECE: Final = {piece.name: piece for piece in PIECES}

KNOWN_MISSES: Final = (
    (
        replace(PIECE["Katz: floats in the alcohol, sinks in oil"], over=("PP", "PE-HD")),
        "PE-LLD and PE-LD 0.798 to PP and PE-HD 0.162, odds of 4.93: in scrap PP and PE-HD are nearly twice as common",
    ),
    (
        replace(PIECE["PTFE"], prior="default"),
        "PE-LLD 0.22, PTFE 0.21: of 10 000 pieces of scrap 4 are PTFE, far fewer than are weighed wrongly",
    ),
    (
        replace(PIECE["polystyrene foam"], together=("PS-E",)),
        "PS-E 0.37, PE-LLD 0.22, PE-LD 0.21: polyethylene that was weighed wrongly is as likely",
    ),
    (
        replace(PIECE["cellulose acetate, 27 % plasticiser"], prior="default"),
        "PETG 0.34, PVC-U 0.23, CA 0.08: 4 pieces of scrap in 10 000 are cellulose acetate (an upper bound)",
    ),
    (
        replace(PIECE["vinylidene fluoride polymer"], prior="default"),
        "PP 0.59, PVDF 0.28: of 10 000 pieces of scrap 2 are PVDF, far fewer than are weighed wrongly",
    ),
    (
        Piece(
            "ABS waste lighter than water",
            (density("0.9723 g/cm3"),),
            "Ghinea C., Paduret S. (2021), doi:10.2478/auoc-2021-0015 (abstract): ABS from electrical products 0.9723",
            leader="ABS",
        ),
        "PE-HD 0.92, ABS below 0.01: no unfoamed ABS is that light, the publication's value is doubtful",
    ),
    (
        Piece(
            "unfilled PBT",
            (density("1.32 g/cm3"), bends(2400)),
            "LATI, LATER 4 F1 (excerpt), https://lambda.lati.com/Material/later-4-f1: 1.32 g/cm3, tensile 2400 MPa",
            leader="PBT",
        ),
        "PET 0.74, PBT 0.03: five of PBT's six densities are single grades of 1.30 and 1.31, so 1.32 is far",
    ),
    (
        Piece(
            "talc-filled polypropylene with a uniform prior",
            (density("1.05 g/cm3"), bends(2413), hot_plate(no="150 degC", yes="170 degC")),
            "as the talc-filled piece above",
            leader="PP",
            prior="uniform",
        ),
        "PPE+PS 0.53, PP 0.21: 20 % talc is 7 % of PP, and PPE+PS (1.04 to 1.08 g/cm3) gives way at 150 to 165 degC",
    ),
)
"""Published pieces that the engine ranks otherwise, with what it said on 2026-11-30 and why."""


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.name)
def test_piece_is_ranked_as_published(piece: Piece) -> None:
    """A piece with published readings is ranked as its source says; see each piece's source."""
    piece.check()


@pytest.mark.parametrize(
    "piece",
    [
        pytest.param(piece, id=piece.name, marks=pytest.mark.xfail(reason=why, raises=AssertionError))
        for piece, why in KNOWN_MISSES
    ],
)
def test_known_miss_is_still_missed(piece: Piece) -> None:
    """Fails (strict xfail) as soon as the engine agrees, so that the list stays true."""
    piece.check()
