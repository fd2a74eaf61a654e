"""Resin codes 1 to 7 and the material symbols a mark may name, with the ways people write them.

Symbols are those of ISO 1043-1, codes those of ASTM D7611 (both from memory, but for the
seven names of the codes, which the standard's publisher prints in its summary).
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from resinid.methods.marking.forbidden import FORBIDDEN

__all__ = ["ALIASES", "ANOTHER", "CODES", "CODE_OF", "LACKING", "SYMBOLS", "UNMARKED", "agree"]

CODES: Final = MappingProxyType(
    {"1": "PET", "2": "PE-HD", "3": "PVC", "4": "PE-LD", "5": "PP", "6": "PS", "7": "OTHER"}
)
"""The symbol that goes with each code of ASTM D7611; 7 is any other resin, or several."""

SYMBOLS: Final = (
    *("PE", "PE-HD", "PE-MD", "PE-LLD", "PE-LD", "EVAC", "PP"),
    *("PS", "PS-HI", "PS-E", "SAN", "ABS", "ASA", "PPE+PS", "PPE"),
    *("PVC", "PVC-U", "PVC-P", "PET", "PETG", "PBT", "PLA", "PHB"),
    *("PMMA", "PC", "PC+ABS", "PA", "PA6", "PA66", "PA12", "POM"),
    *("PVDF", "PTFE", "PSU", "PPS", "PEEK", "CA", "CN"),
    *("TPU", "TPE", "TPS", "NR", "SBR", "EPDM", "NBR", "VMQ"),
    *("PUR", "UP", "EP", "MF", "PF"),
)
"""Symbols that are told apart. What is not among them but in :data:`ALIASES` is read as one of them."""

ANOTHER: Final = "another plastic"
"""A mark that names a plastic the reference table does not list."""

UNMARKED: Final = "unmarked"

_WRITTEN: Final = {
    "PE-HD": "HDPE PEHD HD-PE PE-UHMW UHMWPE",
    "PE-MD": "MDPE PEMD MD-PE",
    "PE-LLD": "LLDPE PELLD LLD-PE",
    "PE-LD": "LDPE PELD LD-PE",
    "EVAC": "EVA E/VA E/VAC PEVA",
    "PP": "PP-H PP-B PP-R PP-C PP-E PP+EPDM PP/EPDM P/E TPO PP+E/P BOPP OPP CPP",
    "PS": "GPPS PS-GP",
    "PS-HI": "HIPS PSHI SB PS-I",
    "PS-E": "EPS PSE XPS PS-X",
    "PPE+PS": "PPE+PS-HI PPE+SB PPE/PS PPO+PS PPO/PS",
    "PPE": "PPO",
    "PVC": "V VINYL PVC-S PVC-E S-PVC E-PVC",
    "PVC-U": "UPVC PVCU RPVC U-PVC",
    "PVC-P": "PVCP FPVC PPVC P-PVC",
    "PET": "PETE PET-E APET A-PET CPET C-PET PET-C PET-A RPET R-PET",
    "PETG": "PET-G",
    "PHB": "PHBV PHA",
    "PMMA": "ACRYLIC",
    "PC+ABS": "ABS+PC PC/ABS ABS/PC PC+ASA",
    "PA": "NYLON PA6+PA66 PA66+PA6 PA6/66",
    "PA6": "NYLON6",
    "PA66": "PA6.6 PA6-6 NYLON66",
    "PA12": "NYLON12",
    "POM": "POM-H POM-C POM-K ACETAL",
    "PTFE": "TEFLON",
    "CN": "NC CELLULOID",
    "TPU": "TPE-U",
    "TPS": "TPE-S SBS SEBS TPS-SEBS TPS-SBS",
    "NR": "RUBBER IR",
    "EPDM": "EPM",
    "VMQ": "SI SIL MQ Q SILICONE",
    "PUR": "PU",
    "UP": "UPR SMC BMC GRP",
    "EP": "EPOXY",
    "MF": "MELAMINE",
    "PF": "PHENOLIC",
    ANOTHER: (
        "PA11 PA46 PA610 PA612 PA6T/6I PA6I/6T PPA PARA PAEK PEKK PEI PES PESU PPSU PAI PI LCP PEN PTT PCT PC+PBT "
        "PBT+PC PC+PET PET+PC PBT+ASA PB PB-1 PMP COC COP PAN PAR PVAC PVAL PVOH EVOH EVAL PVK PVB PCL PBS PBAT "
        "MABS AES SMA SMAH S/MA CAB CAP CP CTA EC TPV TPC TPC-ET TPA PA+PPE PPE+PA PA66+PPE PE-X PEX TPS-STARCH"
    ),
}

_FORBIDDEN_WRITTEN: Final = {
    "PVC-C": "CPVC PVCC C-PVC",
    "PE-C": "CPE PEC C-PE",
    "ACS": "ACPES ACPE",
    "CR": "NEOPRENE CHLOROPRENE",
    "PIR": "PUR-PIR",
}
"""What the table lacks and :data:`~resinid.methods.marking.forbidden.FORBIDDEN` has, as it is also written."""

LACKING: Final = MappingProxyType(
    {word: symbol for symbol, words in _FORBIDDEN_WRITTEN.items() for word in words.split()}
)
"""By what may be written: the forbidden plastic that :data:`ALIASES` has as another."""

ALIASES: Final = MappingProxyType(
    dict.fromkeys([*FORBIDDEN, *LACKING], ANOTHER)
    | {symbol: symbol for symbol in SYMBOLS}
    | {word: symbol for symbol, words in _WRITTEN.items() for word in words.split()}
)
"""By what may be written: the symbol, or :data:`ANOTHER`."""

CODE_OF: Final = MappingProxyType(
    {
        "PE-HD": "2",
        "PE-MD": "24",
        "PE-LLD": "4",
        "PE-LD": "4",
        "PE": "24",
        "PP": "5",
        "PS": "6",
        "PS-HI": "6",
        "PS-E": "6",
        "PVC": "3",
        "PVC-U": "3",
        "PVC-P": "3",
        "PET": "1",
        "PETG": "17",
    }
)
"""Codes that a symbol may stand beside; any other symbol stands beside 7. PETG is coded 7 by
the edition of 2020 and was often coded 1 before."""


def agree(code: str, symbol: str) -> bool:
    """Return whether a code and a symbol can stand in one mark.

    Examples
    --------
    >>> agree("2", "PE-HD"), agree("2", "PP"), agree("7", "ABS")
    (True, False, True)
    """
    return code in CODE_OF.get(symbol, "7")
