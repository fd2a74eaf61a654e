"""The bench sheet: one page of HTML that stands alone, on the screen and on A4 or Letter paper."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from resinid.identification.result import Result
from resinid.identification.score import model_of
from resinid.methods._guard import observable_of
from resinid.planning.next_test import next_tests
from resinid.report.advice_report import SETTLED, steps_part, verdict_line, withheld
from resinid.report.cautions import named
from resinid.report.page_fit import fitted_page
from resinid.report.pictures import standing_picture
from resinid.report.piece_report import heat_part, kinds_line, left_out, observations_part, ranking_table
from resinid.report.property_spans import baths_of, measured_readings, reference_of
from resinid.report.sections import PAGE, Figure, Items, Line, Section
from resinid.report.text import TITLES, clean

if TYPE_CHECKING:
    from resinid.planning.advice import Advice
    from resinid.reference.table import ReferenceTable
    from resinid.report.sections import Part

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
    versions = (_parts(result, advice, chosen, amount) for amount in AMOUNTS)
    return fitted_page(f"Bench sheet: {title}", title, versions, LEGIBLE)


def _advice(result: Result, reference: ReferenceTable) -> Advice:
    prior = dict(zip(result.resins, result.prior, strict=True))
    return next_tests(result.observations, question="heat", prior=prior, reference=reference)


def _parts(result: Result, advice: Advice, reference: ReferenceTable, amount: _Amount) -> tuple[Section, ...]:
    name = Line(named(result, reference), kind="answer")
    answer = Section("Answer", (name, ranking_table(result, amount.resins), kinds_line(result)), PAGE)
    cautions = Section("Cautions", (heat_part(result.heat, result.observations),), PAGE)
    table = (observations_part(result, amount.observations), left_out(result))
    by_hand = "Done by ______________________   on ______________   checked by ______________________"
    made_with = Line(f"resinid {result.version}, table {result.reference_digest}")
    return (
        Section("", (answer, cautions), "side"),
        Section("Evidence", (*table, _figure(result, reference, amount)), PAGE),
        _next(advice),
        _sources(result, reference, amount),
        Section("", (made_with, Line(by_hand, kind="hand")), "footer"),
    )


def _figure(result: Result, reference: ReferenceTable, amount: _Amount) -> Part:
    seen = measured_readings(result.observations)
    if not seen:
        return Line("No measured property to draw: only words were observed.")
    cut = len(baths_of(result.observations)) - amount.baths if seen[0] == "density" else 0
    caption = (
        f"{TITLES[seen[0]]}. Boxes: 5 to 95 % of each resin's pieces, with the middle; filled for the leading one, "
        "pointed where they go on. Hatched: how well each value fits the readings. Dashed: liquids it was put into."
    )
    caption += f" {cut} farther liquids are not drawn." if cut > 0 else ""
    return Figure(standing_picture(result, seen[0], reference, amount.resins, amount.baths), caption)


def _next(advice: Advice) -> Section:
    best = None if advice.verdict == SETTLED else advice.best
    test = (Line(f"{best.plan.label}.", "Most telling: " if advice.stop else "Next: "),
            steps_part(best, advice.result.heat)) if best else ()  # fmt: skip
    held = [Line(why, "Not offered: ") for why in withheld(advice.withheld[:1])]
    return Section("What to do next", (verdict_line(advice), *test, *held), PAGE)


def _sources(result: Result, reference: ReferenceTable, amount: _Amount) -> Section:
    model = model_of(reference)
    place = model.candidates.index(result.leader)
    behind = {key for name in {observable_of(o) for o in result.observations} for key in model.sources(name, place)}
    first = [key for key in result.sources if key in behind][: amount.cited]
    cited = {source.key: source.citation for source in reference.sources}
    told = {key: textwrap.shorten(cited[key], LONGEST, placeholder="...") for key in first if key in cited}
    others = [key for key in result.sources if key not in first]
    more = len(others) - amount.named
    rest = ", ".join(others[: amount.named]) + (f" and {more} more" if more > 0 else "")
    also = f"Also: {rest}. " if rest else ""
    return Section(
        "Sources",
        (
            Section("", (Items(tuple(f"{key}: {text}" for key, text in told.items())),), "sources") if told else None,
            Line(f"{also}The command 'resinid sources' prints each in full.", kind="soft small"),
        ),
        PAGE,
    )
