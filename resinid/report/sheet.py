"""The bench sheet: one page of HTML that stands alone, on the screen and on A4 or Letter paper."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from resinid.identification.result import Result
from resinid.identification.score import model_of
from resinid.methods._guard import observable_of
from resinid.planning.next_test import next_tests
from resinid.report.cautions import bath_cautions, named
from resinid.report.markup import bullets, el, line, page_of
from resinid.report.page_fit import fit
from resinid.report.pictures import standing_picture
from resinid.report.piece_html import (
    SETTLED,
    heat_box,
    kinds_line,
    left_out,
    observations_table,
    ranking_table,
    standing_line,
    steps_of,
    withheld,
)
from resinid.report.property_spans import baths_of, measured_readings, reference_of
from resinid.report.style import SHEET, STYLE
from resinid.report.text import TITLES, clean

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from resinid.heating.verdict import Heat
    from resinid.planning.advice import Advice
    from resinid.reference.table import ReferenceTable
    from resinid.report.markup import Child

__all__ = ["bench_sheet"]


@dataclass(frozen=True, slots=True)
class _Amount:
    """How many of each thing a sheet shows at most; cautions are never cut."""

    resins: int
    observations: int
    baths: int
    cited: int
    named: int


AMOUNTS: Final = (
    _Amount(6, 8, 6, 8, 16),
    _Amount(5, 6, 4, 4, 12),
    _Amount(4, 5, 3, 0, 8),
    _Amount(3, 2, 2, 0, 4),
    _Amount(2, 1, 1, 0, 2),
)
"""The first is taken at which the text stays legible, else the last."""

LEGIBLE: Final = 0.8
"""Share of the full size: 7.2 pt in print."""

LONGEST: Final = 110
"""[characters] A citation on the sheet is cut to this; ``resinid sources`` prints it whole."""


def bench_sheet(answer: Result | Advice, *, reference: ReferenceTable | None = None) -> str:
    """Return the bench sheet of a piece: a whole HTML page that loads nothing from elsewhere.

    It holds the answer, the evidence, a picture, the cautions, what to do next, the
    sources, the version and the digest of the table, and prints to one page.

    Parameters
    ----------
    answer : Result or Advice
        The answer of :func:`resinid.identify`; or that of :func:`resinid.next_tests`,
        which knows what is at hand for the next test.
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.

    Returns
    -------
    str

    Raises
    ------
    InputError
        The answer was made with another table.

    Examples
    --------
    >>> import resinid
    >>> seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
    >>> page = bench_sheet(resinid.identify(seen, piece="cap <1>"))
    >>> page.startswith("<!DOCTYPE html>"), "cap &lt;1&gt;" in page, "NOT YET" in page
    (True, True, True)
    """
    result = answer if isinstance(answer, Result) else answer.result
    chosen = reference_of(result, reference)
    advice = _advice(answer, chosen) if isinstance(answer, Result) else answer
    result = replace(result, heat=replace(result.heat, settled_by=advice.result.heat.settled_by))
    title = textwrap.shorten(clean(result.piece), 80, placeholder="...") or "piece without a name"
    for amount in AMOUNTS:
        parts = _parts(title, result, advice, chosen, amount)
        size = fit(parts)
        if size >= LEGIBLE:
            break
    main = el("main", *parts, class_="resinid", style=f"--fit:{size:.2f}")
    return page_of(f"Bench sheet: {title}", STYLE + SHEET, main)


def _parts(title: str, result: Result, advice: Advice, reference: ReferenceTable, amount: _Amount) -> list[Element]:
    by_hand = "Done by ______________________   on ______________   checked by ______________________"
    return [
        el("h1", title),
        el("div", _answer(result, reference, amount), _cautions(result), class_="side"),
        _evidence(result, reference, amount),
        _next(advice, result.heat),
        _sources(result, reference, amount),
        el("footer", line(f"resinid {result.version}, table {result.reference_digest}"), line(by_hand, class_="hand")),
    ]


def _advice(result: Result, reference: ReferenceTable) -> Advice:
    prior = dict(zip(result.resins, result.prior, strict=True))
    return next_tests(result.observations, question="heat", prior=prior, reference=reference)


def _section(title: str, *children: Child) -> Element:
    return el("section", el("h2", title), *children)


def _answer(result: Result, reference: ReferenceTable, amount: _Amount) -> Element:
    return _section(
        "Answer",
        line(named(result, reference), class_="answer"),
        ranking_table(result, amount.resins),
        kinds_line(result),
    )


def _evidence(result: Result, reference: ReferenceTable, amount: _Amount) -> Element:
    seen = measured_readings(result.observations)
    figure: Element | None = line("No measured property to draw: only words were observed.") if not seen else None
    if seen:
        cut = len(baths_of(result.observations)) - amount.baths if seen[0] == "density" else 0
        caption = (
            "Boxes: 5 to 95 % of each resin's pieces, with the middle; filled for the leading one, pointed where they "
            "go on. Hatched: how well each value fits the readings. Dashed: liquids it was put into."
        )
        caption += f" {cut} farther liquids are not drawn." if cut > 0 else ""
        figure = el(
            "figure",
            standing_picture(result, seen[0], reference, amount.resins, amount.baths),
            el("figcaption", f"{TITLES[seen[0]]}. {caption}"),
        )
    return _section(
        "Evidence",
        observations_table(result, amount.observations)
        if result.observations
        else line("No observations: this is the prior."),
        left_out(result),
        figure,
    )


def _cautions(result: Result) -> Element:
    return _section("Cautions", heat_box(result.heat), bullets(bath_cautions(result.observations)))


def _next(advice: Advice, heat: Heat) -> Element:
    best = None if advice.verdict == SETTLED else advice.best
    return _section(
        "What to do next",
        standing_line(advice),
        line(el("strong", "Most telling: " if advice.stop else "Next: "), f"{best.plan.label}.") if best else None,
        bullets(steps_of(best, heat)) if best else None,
        bullets(withheld(advice.withheld[:1])),
    )


def _sources(result: Result, reference: ReferenceTable, amount: _Amount) -> Element:
    model = model_of(reference)
    place = model.candidates.index(result.leader)
    behind = {key for name in {observable_of(o) for o in result.observations} for key in model.sources(name, place)}
    first = [key for key in result.sources if key in behind][: amount.cited]
    cited = {source.key: source.citation for source in reference.sources}
    listed = [
        el("li", f"{key}: {textwrap.shorten(cited[key], LONGEST, placeholder='...')}") for key in first if key in cited
    ]
    others = [key for key in result.sources if key not in first]
    more = len(others) - amount.named
    rest = ", ".join(others[: amount.named]) + (f" and {more} more" if more > 0 else "")
    return _section(
        "Sources",
        el("ul", *listed, class_="sources") if listed else None,
        line(f"Also: {rest}. " if rest else "", "The command ", el("code", "resinid sources"), " prints each in full.",
             class_="soft small"),
    )  # fmt: skip
