"""What is wrong in the rows that a method brings along: names that nothing has would be left out without a word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.errors import TableError
from resinid.io.close_words import did_you_mean
from resinid.reference.method_rows import behaviours_of, sources_of, statements_of
from resinid.reference.table import default_reference
from resinid.scoring.properties import CategoricalProperty, ContinuousProperty

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.scoring.properties import Observable

__all__ = ["row_faults"]


def row_faults(what: Observable) -> Iterator[str]:
    """Yield what is wrong in the rows of a property that a method brings along."""
    if not isinstance(what, (CategoricalProperty, ContinuousProperty)) or what.folder is None:
        return
    reference = default_reference()
    variants: dict[str, list[str]] = {symbol: [] for symbol in reference.symbols}
    for variant in reference.variants:
        variants[variant.resin].append(variant.name)
    try:
        sources = [source.key for source in (*reference.sources, *sources_of(what.folder))]
        if isinstance(what, ContinuousProperty):
            file = "properties.csv"
            rows = [(row.resin, row.variant, row.source) for row in statements_of(what.folder, what.quantity)]
        else:
            file = "behaviour.csv"
            rows = [(row.resin, "", row.source) for row in behaviours_of(what.folder, what.name, what.outcomes)]
    except TableError as error:
        yield str(error)
        return
    for resin, own, source in rows:
        place = f"{file}: {resin}{f', {own}' if own else ''}"
        if resin not in variants:
            yield f"{place}: no resin is called {resin!r}{did_you_mean(resin, variants)}"
        elif own and own not in variants[resin]:
            yield f"{place}: {resin} has no variant {own!r}; it has {', '.join(variants[resin])}"
        for key in source.split():
            if key not in sources:
                yield f"{place}: no source has the key {key!r}; add it to sources.csv{did_you_mean(key, sources)}"
