"""A table of three invented resins, small enough to enumerate everything."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

FILES: Final = {
    "sources.csv": "key,citation,year,kind,url,read,note\nmade,Invented for a test,2026,standard,,read,\n",
    "resins.csv": (
        "resin,name,group,kind,aliases,note\n"
        "AA,light,test,semicrystalline,,\nBB,middle,test,semicrystalline,,\nCC,dense,test,amorphous,,\n"
    ),
    "variants.csv": (
        "resin,variant,weight,softens,filler,load_low,load_high,source,locator,obtained,note\n"
        "AA,natural,1,melting,,,,,,common practice,\n"
        "BB,natural,0.7,melting,,,,,,common practice,\n"
        "BB,heavy,0.3,melting,,,,,,common practice,\n"
        "CC,natural,1,glass,,,,,,common practice,\n"
    ),
    "properties.csv": (
        "resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note\n"
        "AA,natural,density,0.900,,0.915,g/cm3,23 C,,made,p. 1,standard,\n"
        "BB,natural,density,0.905,,0.935,g/cm3,23 C,,made,p. 1,standard,\n"
        "BB,heavy,density,0.930,,0.960,g/cm3,23 C,,made,p. 1,standard,\n"
        "CC,natural,density,,0.940,,g/cm3,23 C,,made,p. 1,standard,\n"
    ),
    "behaviour.csv": (
        "resin,aspect,outcome,frequency,source,locator,obtained,note\n"
        "AA,snap,creases,usual,made,,standard,\nAA,snap,snaps,rare,made,,standard,\n"
        "BB,snap,creases,sometimes,made,,standard,\nBB,snap,springs back,usual,made,,standard,\n"
        "CC,snap,snaps,always,made,,standard,\n"
    ),
}
PRIOR: Final = {"AA": 0.5, "BB": 0.3, "CC": 0.2, "none of these": 0.0}


def write(folder: Path) -> Path:
    """Write the table's files and return their folder."""
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder
