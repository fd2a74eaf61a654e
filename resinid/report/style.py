"""Colours and the style sheet: our own layout, legible in grey, to the colour-blind, in light and dark.

The colours for bars, lines and marks are those of Okabe & Ito (2008, "Color Universal
Design", https://jfly.uni-koeln.de/color/; from memory), chosen there to be told apart with
any common kind of colour blindness. Nothing is said by colour alone: words, hatches and
markers say it too. Text has a contrast of at least 4.5 to 1 and lines of at least 3 to 1,
as success criteria 1.4.3 and 1.4.11 of WCAG 2.2 (W3C Recommendation, 2023) ask.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

__all__ = ["DARK", "LABEL", "LIGHT", "OKABE_ITO", "SHEET", "STYLE"]

OKABE_ITO: Final = MappingProxyType(
    {
        "black": "#000000",
        "orange": "#e69f00",
        "sky blue": "#56b4e9",
        "bluish green": "#009e73",
        "yellow": "#f0e442",
        "blue": "#0072b2",
        "vermillion": "#d55e00",
        "reddish purple": "#cc79a7",
    }
)

LIGHT: Final = MappingProxyType(
    {
        "back": "#ffffff",
        "ink": "#1b1b1b",
        "soft": "#565656",
        "rule": "#8c8c8c",
        "bar": OKABE_ITO["blue"],
        "mark": OKABE_ITO["vermillion"],
        "warn": "#8a2b00",
        "warnback": "#fff3ea",
    }
)

DARK: Final = MappingProxyType(
    {
        "back": "#15181c",
        "ink": "#ececec",
        "soft": "#b6b6b6",
        "rule": "#7d7d7d",
        "bar": OKABE_ITO["sky blue"],
        "mark": OKABE_ITO["orange"],
        "warn": "#ffb784",
        "warnback": "#2c1a0e",
    }
)


def _variables(colours: MappingProxyType[str, str]) -> str:
    return "".join(f"--{name}:{value};" for name, value in colours.items())


_LIGHT: Final = _variables(LIGHT)
_DARK: Final = _variables(DARK)

STYLE: Final = (
    f".resinid{{color-scheme:light dark;{_LIGHT}background:var(--back);color:var(--ink);"
    "font:14px/1.4 system-ui,sans-serif;padding:.6em .9em;max-width:56em;overflow-x:auto;text-align:left}"
    f"@media (prefers-color-scheme:dark){{.resinid{{{_DARK}}}}}"
    # A JupyterLab page says which theme it wears, whatever the screen prefers.
    f'[data-jp-theme-light="true"] .resinid{{{_LIGHT}}}[data-jp-theme-light="false"] .resinid{{{_DARK}}}'
    f"@media print{{.resinid{{{_LIGHT}}}}}"
    ".resinid p{margin:.35em 0;color:inherit}"
    ".resinid .name{font-size:1.15em;font-weight:700}"
    ".resinid .soft,.resinid caption{color:var(--soft)}"
    ".resinid caption{text-align:left;caption-side:top;padding:.2em 0;font-size:.95em}"
    ".resinid table{border-collapse:collapse;margin:.6em 0;border:0;font-size:1em;background:none}"
    ".resinid th,.resinid td{padding:.15em .7em .15em 0;text-align:left;vertical-align:top;border:0;"
    "border-bottom:1px solid var(--rule);background:var(--back);color:var(--ink);white-space:normal;max-width:34em}"
    ".resinid thead th{font-weight:600;border-bottom:2px solid var(--rule)}"
    ".resinid tbody th{font-weight:600}"
    ".resinid .n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}"
    ".resinid ul,.resinid ol{margin:.2em 0;padding-left:1.3em}.resinid li{margin:.1em 0}"
    ".resinid .heat{border:2px solid var(--rule);padding:.35em .7em;margin:.6em 0}"
    ".resinid .heat.stop{border:4px double var(--warn);background:var(--warnback);color:var(--warn)}"
    ".resinid .heat.stop strong{letter-spacing:.02em}"
    ".resinid summary{cursor:pointer;color:var(--ink);padding:.25em 0}"
    ".resinid svg{display:block;max-width:100%}"
    ".resinid .bar{fill:var(--bar);stroke:var(--ink);stroke-width:.6}"
    ".resinid .other{fill:none;stroke:var(--bar);stroke-width:1.4}"
    ".resinid .track{fill:none;stroke:var(--rule);stroke-width:1}"
    ".resinid .tick{stroke:var(--ink);stroke-width:1.6}"
    ".resinid .axis{stroke:var(--ink);stroke-width:1}"
    ".resinid .bath{stroke:var(--ink);stroke-width:1.1;stroke-dasharray:5 3}"
    ".resinid .seen{fill:url(#resinid-hatch)}"
    ".resinid .curve{fill:none;stroke:var(--mark);stroke-width:1.8}"
    ".resinid .hatch{stroke:var(--mark);stroke-width:1.1}"
    ".resinid svg text{fill:var(--ink);font:12px system-ui,sans-serif}"
    ".resinid svg .strong{font-weight:700}"
)
"""Style of everything this package shows as HTML; it touches nothing outside its own boxes."""

SHEET: Final = (
    "@page{margin:10mm}"
    "html{background:#ffffff}"
    "@media (prefers-color-scheme:dark){html{background:#15181c}}"
    "@media print{html{background:#ffffff}}"
    "body{margin:0}"
    # A digest copied from a printed page has its own letters, not one sign for two of them.
    "main.resinid{font-variant-ligatures:none;margin:0 auto;max-width:190mm;padding:6mm;box-sizing:border-box;"
    "font-size:14px}"
    "main h1{font-size:1.6em;margin:0 0 .1em;overflow-wrap:anywhere}"
    "main h2{font-size:1.08em;margin:.75em 0 .15em;border-bottom:1px solid var(--rule)}"
    "main.resinid table{margin:.2em 0;width:100%}"
    "main.resinid td{overflow-wrap:anywhere}main.resinid tbody th{white-space:nowrap}"
    "main .side{display:grid;grid-template-columns:11fr 9fr;gap:0 1.6em;align-items:start}"
    "main .answer{font-size:1.25em;font-weight:700}"
    "main.resinid th,main.resinid td{padding:.08em .7em .08em 0}"
    "main.resinid .heat{margin:.4em 0;padding:.2em .6em}"
    "main.resinid svg text{font-size:12px}"
    "main .small,main .sources{font-size:.85em}"
    "main .sources{columns:2;column-gap:1.6em;margin:.2em 0}main .sources ul{padding:0;margin:0;list-style:none}"
    "main .sources li{break-inside:avoid;overflow-wrap:anywhere}"
    "main .footer{margin-top:.7em;border-top:1px solid var(--rule);font-size:.85em;overflow-wrap:anywhere}"
    "main .hand{display:none}"
    "@media (max-width:40em){main .side{display:block}main .sources{columns:1}}"
    "@media print{main.resinid{max-width:none;padding:0;font-size:calc(12px*var(--fit))}main .hand{display:block}"
    "main.resinid,main .heat.stop{-webkit-print-color-adjust:exact;print-color-adjust:exact}"
    "main section,main table,main figure{break-inside:avoid}}"
    "main figure{margin:.5em 0 .3em}main figcaption{color:var(--soft);font-size:.92em}"
    "main figure svg{max-width:600px;margin:0 auto}"
)
"""Style of the bench sheet besides."""

LABEL: Final = (
    "@page{margin:8mm}"
    "body{margin:0}"
    # As wide as a hand: cut out, or printed on a sticker of 105 mm, half the width of A4.
    "main.resinid{width:95mm;box-sizing:border-box;border:2px solid var(--ink);padding:3mm;font-size:12px}"
    "main h1{font-size:1.7em;line-height:1.15;margin:0 0 .2em;overflow-wrap:anywhere}"
    "main .heat{font-size:1.15em;overflow-wrap:anywhere}"
    "main .lot{font-size:1.15em;white-space:pre-wrap;overflow-wrap:anywhere}"
    "main .small{font-size:.85em;margin:.1em 0}"
    "@media print{main.resinid,main .heat.stop{-webkit-print-color-adjust:exact;print-color-adjust:exact}}"
)
"""Style of a label besides."""
