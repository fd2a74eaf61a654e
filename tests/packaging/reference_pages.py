"""Build the reference of all public names, and the pages of the guide, as HTML: a folder to open in a browser.

``python tests/packaging/reference_pages.py [FOLDER]``; ``build/reference`` where no folder is named.
Needs the extra ``docs`` (pdoc). A warning of pdoc's stops it.
"""

from __future__ import annotations

import sys
import warnings
from importlib import import_module
from pathlib import Path
from typing import Final

from resinid.guide import TOPICS, page

HERE: Final = Path(__file__).parents[2] / "build" / "reference"

LAZY: Final = ("resinid", "resinid.plot")
"""Modules whose names are loaded on first use, which pdoc does not do."""

MODULES: Final = (
    "resinid",
    "resinid.guide",
    "resinid.io.document",
    "resinid.io.fields",
    "resinid.io.liquid_parser",
    "resinid.liquids",
    "resinid.methods.registry",
    "resinid.methods.word_test",
    "resinid.notebook",
    "resinid.quantities",
    "resinid.report.label",
    "resinid.report.sheet",
    "resinid.scoring.term",
)
"""The public names with ``plot`` and ``testing``, and the modules that the guide names besides."""


def build(folder: Path) -> None:
    """Write the pages; raise the first warning."""
    import pdoc  # here, for pytest looks for doctests in this file where the extra is not installed
    import pdoc.render

    for lazy in map(import_module, LAZY):
        for name in lazy.__all__:
            setattr(lazy, name, getattr(lazy, name))
    first, guide = import_module("resinid"), import_module("resinid.guide")
    besides = ", ".join(f"`{module}`" for module in MODULES[2:])
    first.__doc__ = f"{first.__doc__}\n\nThe guide is `resinid.guide`. Besides: {besides}."
    guide.__doc__ = "\n\n".join([guide.__doc__ or "", *map(page, TOPICS)])
    pdoc.render.configure(docformat="numpy", show_source=False)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        pdoc.pdoc(*MODULES, output_directory=folder)


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE
    build(where)
    print(f"Open {where / 'index.html'}")
