"""What in a mark forbids heating, whatever stands beside it: a resin, a halogen, a flame retardant.

The resins are a list here and not looked up in the reference table: a mark is judged without a
table at hand, and the table lacks most of them. A test holds the list against ``hazards.csv``.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

__all__ = ["FORBIDDEN", "HALOGEN", "RETARDANT", "RETARDED", "SOLE", "reasons_to_forbid", "retarded"]

_WHY: Final = {
    "holds chlorine, which heat drives out as hydrogen chloride": (
        "PVC PVC-U PVC-P PVC-C PVDC PE-C ACS CR CSM CIIR "
        "VC/E VC/E/MA VC/E/VAC VC/MA VC/MMA VC/OA VC/VAC VC/VDC VCE VCVAC VCVDC"
    ),
    "holds bromine, which heat drives out as hydrogen bromide": "BIIR",
    "holds fluorine, and its fumes when too hot are poisonous": (
        "PVDF PTFE ETFE FEP PFA MFA ECTFE PCTFE PVF FKM FPM FFKM FEPM FVMQ"
    ),
    "is acetal, which gives off formaldehyde in a rush and reacts violently with PVC": "POM",
    "is celluloid, which bursts into flame and burns without air": "CN",
    "gives off isocyanates and hydrogen cyanide": "PUR PIR",
    "is cured, does not melt and gives off harmful fumes": (
        "UP EP MF PF UF VE DAP PDAP CF NR IR SBR NBR HNBR IIR ACM EPDM VMQ"
    ),
}

FORBIDDEN: Final = MappingProxyType({symbol: why for why, symbols in _WHY.items() for symbol in symbols.split()})
"""By resin that a mark may name: why it is not to be heated (``hazards.csv``; what that lacks, from memory)."""

SOLE: Final = frozenset({"EPDM", "CF"})
"""Forbidden only where no other plastic is named: beside one it is an impact modifier, or carbon fibre."""

RETARDED: Final = "flame retarded, which may give off hydrogen bromide and worse"

_UNKNOWN: Final = "but what it gives off when heated is not known here"
_NO_HALOGEN: Final = f"flame retarded; by its code in ISO 1043-4 without halogen, {_UNKNOWN}"
_TRIHYDRATE: Final = f"flame retarded; by its letter in ISO 1043-2 with aluminium trihydrate, {_UNKNOWN}"

HALOGENATED: Final = range(10, 30)
"""Codes of flame retardants with a halogen by ISO 1043-4:2021 (ranges of a bookseller's summary): chlorine
and bromine, alone or with antimony. Nitrogen and phosphorus compounds, hydroxides, borates, silicon and
graphite have the codes from 30 on."""

_END: Final = r"(?![A-Z0-9])"

RETARDANT: Final = re.compile(
    rf"FR(?![A-Z])[\s-]?(?:(?P<codes>\d\d){_END}|\((?P<listed>[^()]*)\)?)?"
    # D is aluminium trihydrate among the fillers of ISO 1043-2 (from memory); it is there to retard flames.
    rf"|(?:D[DFGX]?\d{{1,2}}|D[DX]){_END}"
    # Classes of slow burning printed beside the symbol, and words.
    rf"|(?:UL[\s-]?94[\s-]*)?(?:V-?[O012]|VTM-?[O012]|5V[AB]?){_END}|UL[\s-]?94{_END}"
    r"|\w*(?:FLAM|FIRE|IGNIF|RETARD|EXTINGUISH|BRANDSCHUTZ)\w*"
)
"""Whatever names a flame retardant: ``FR``, ``FR17``, ``FR(17)``, ``FR(17+40)``."""

HALOGEN: Final = re.compile(rf"(?:BR|CL|F)\d*{_END}|\w*(?:HALOGEN|CHLOR|BROM|FLUOR|HBCD|TBBPA|BDE)\w*|\(CP\)")
"""Whatever names a halogen; ``(CP)`` is the plasticiser of chlorinated paraffin (ISO 1043-3, from memory)."""


def retarded(written: str) -> str:
    """Return why a flame retardant forbids heating, by how it is written.

    Examples
    --------
    >>> retarded("FR(17)") == retarded("FR") == RETARDED
    True
    >>> retarded("FR(40)")[:38]
    'flame retarded; by its code in ISO 104'
    """
    if written.startswith("D"):
        return _TRIHYDRATE
    codes = [int(code) for code in re.findall(r"(?<!\d)\d\d(?!\d)", written)] if written.startswith("FR") else []
    return _NO_HALOGEN if codes and not any(code in HALOGENATED for code in codes) else RETARDED


def reasons_to_forbid(materials: tuple[str, ...]) -> tuple[str, ...]:
    """Return why the plastics that a mark names are not to be heated, each reason once.

    Examples
    --------
    >>> reasons_to_forbid(("PP", "EPDM"))
    ()
    >>> reasons_to_forbid(("PP", "PVC"))
    ('PVC holds chlorine, which heat drives out as hydrogen chloride',)
    """
    alone = len(set(materials)) == 1
    named = dict.fromkeys(each for each in materials if each in FORBIDDEN and (alone or each not in SOLE))
    return tuple(f"{each} {FORBIDDEN[each]}" for each in named)
