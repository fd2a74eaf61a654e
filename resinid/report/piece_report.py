"""What one piece is and whether it may be heated, as parts of a report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.methods._guard import describe
from resinid.report.cautions import bath_cautions, bearing_on_heat, most_telling, named, reasons_beside, settling_words
from resinid.report.sections import FOLDED, Items, Line, Report, Section, Table, sources_part
from resinid.report.text import factor, percent, text_of, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.heating.verdict import Heat
    from resinid.identification.result import Result
    from resinid.methods.contract import Observation
    from resinid.reference.table import ReferenceTable

__all__ = [
    "heat_part",
    "heat_report",
    "kinds_line",
    "left_out",
    "observations_part",
    "ranking_table",
    "result_report",
    "result_text",
    "short_text",
    "version_line",
]

SHORT: Final = 20
"""Lines of a short answer at most."""

SHOWN: Final = 8

MOST: Final = 100
"""Observations of a whole answer; more than a piece has."""

FACTORS: Final = 8
"""Tests at most whose factors stand beside the resins."""

ALONE: Final = (
    "x1 and so on: the factor by which that test by itself changes the probability. Tests that agree tell much of "
    "the same, so that each adds less to the others."
)


def heat_part(heat: Heat, observations: Sequence[Observation] = ()) -> Section:
    """Return whether a piece may be heated: verdict, reasons, what would settle it, and each caution once."""
    baths = (f"bath: {caution}" for caution in bath_cautions(observations))
    said = (*reasons_beside(heat), settling_words(heat), *heat.cautions, *baths)
    items = Items(tuple(dict.fromkeys(filter(None, said))))
    return Section("", (Line("", f"Heating: {heat.headline}."), items), "heat" if heat.allowed else "heat stop")


def heat_report(heat: Heat) -> Report:
    """Return the advice on heating."""
    return Report("Advice on heating", (heat_part(heat),))


def result_report(
    result: Result, reference: ReferenceTable | None = None, top: int = SHOWN, tests: int = SHOWN
) -> Report:
    """Return the answer for one piece.

    Parameters
    ----------
    result : Result
    reference : ReferenceTable, optional
        Where given, the resin is told by its name as well.
    top : int, optional
        How many resins to show.
    tests : int, optional
        How many observations to show, besides those on which heating hangs.
    """
    title = result.piece or "piece"
    name = result.headline if reference is None else named(result, reference)
    no_data = (
        Line(f"No data on {quantity.replace('_', ' ')} (scored as an unlisted plastic): {', '.join(resins)}.")
        for quantity, resins in result.no_data
        if resins
    )
    ranking = (ranking_table(result, top, tests=FACTORS), Line(ALONE, kind="soft") if result.log_alone else None)
    return Report(
        f"Answer for {title}",
        (
            heat_part(result.heat, result.observations),
            Line(f"{title}: {name}", kind="name"),
            observations_part(result, tests),
            left_out(result),
            Section("Most probable resins", (*ranking, kinds_line(result), *no_data), FOLDED),
            sources_part(result.sources),
            version_line(result),
        ),
    )


def result_text(result: Result, reference: ReferenceTable, top: int) -> str:
    """Return a whole answer as text."""
    return text_of(result_report(result, reference, max(top, 1), MOST).parts)


def short_text(result: Result, reference: ReferenceTable) -> str:
    """Return the answer in at most :data:`SHORT` lines, the verdict first; :func:`result_text` has the rest."""
    title = f"{result.piece}: " if result.piece else ""
    head = [wrapped(f"Heating: {result.heat.headline}.", "", ""), wrapped(title + named(result, reference), "", "")]
    against = [describe(result.observations[index]) for index in result.disagreeing]
    if against:
        head.append(wrapped(f"Does not fit {result.leader}, measure again: {'; '.join(against)}"))
    head += [wrapped(f"Left out, because its plug-in failed: {why}") for _, why in result.left_out]
    last = [
        wrapped(result.heat.cautions[-1], "", ""),
        "Each test, what it told, and the sources: the same with --full.",
    ]
    (_, items) = heat_part(result.heat, result.observations).parts
    told = items.items if isinstance(items, Items) else ()
    shown = [wrapped(str(item), "  - ", "    ") for item in told if item != result.heat.cautions[-1]]
    room = SHORT - sum(part.count("\n") + 1 for part in (*head, *last)) - 1
    kept = 0
    while kept < len(shown) and shown[kept].count("\n") < room:
        room -= shown[kept].count("\n") + 1
        kept += 1
    more = [f"  - and {len(shown) - kept} more reasons or cautions: --full"] if kept < len(shown) else []
    return "\n".join([*head, *shown[:kept], *more, *last])


def ranking_table(result: Result, shown: int = SHOWN, *, tests: int = 0) -> Table:
    """Return the most probable resins with their probabilities after and before, and what some tests alone told."""
    told = result.log_alone[:tests]
    rows = [
        (resin, percent(after), percent(before), *(factor(logs[rank]) for logs in told))
        for rank, (resin, after, before) in enumerate(
            zip(result.resins[:shown], result.probability, result.prior, strict=False)
        )
    ]
    bars = list(result.probability[:shown])
    rest = len(result.resins) - len(rows)
    if rest > 0:
        bars.append(sum(result.probability[shown:]))
        rows.append((f"{rest} others", percent(bars[-1]), percent(sum(result.prior[shown:])), *[""] * len(told)))
    head = ("resin", "probability", "before", *(f"x{place + 1}" for place in range(len(told))))
    return Table("Probability, and before any test", head, rows, range(1, len(head)), bars, least=3)


def observations_part(result: Result, shown: int = MOST) -> Table | Line:
    """Return what was observed, whether it agrees, and what it told by itself and in addition to the others.

    Where some are cut off, those that disagree come first, then those that tell most by themselves of
    what may clear a piece; what forbids heating, or needed a danger allowed, is never cut.
    """
    if not result.observations:
        return Line("No observations: this is the prior.")
    heat = bearing_on_heat(result.observations)
    others = [index for index in most_telling(result) if index not in heat]
    room = max(shown - len(heat), shown // 2)
    kept, cut = sorted([*heat, *others[:room]]), others[room:]
    rows = [
        (
            f"x{index + 1}",
            f"DISAGREES, {result.outlier[index]:.0%} likely botched" if index in result.disagreeing else "agrees",
            factor(result.log_alone[index][0]) if result.log_alone else "not told",
            factor(result.log_factors[index][0]),
            describe(result.observations[index]),
        )
        for index in kept
    ]
    caption = f"Whether each observation agrees with {result.leader}, and by what factor it changes its probability"
    if cut:
        against = sum(index in result.disagreeing for index in cut)
        caption += (
            f"; {len(cut)} more are not shown, {against} of which disagree; all that forbids heating is shown, and "
            "then what tells most"
        )
    return Table(caption, ("test", "agrees", "by itself", "in addition", "observed"), rows, (2, 3))


def left_out(result: Result) -> Items | None:
    """Return which tests were left out and why, where the answer says so."""
    said = tuple(f"{test} was left out: {reason}" for test, reason in result.left_out)
    return Items(said) if said else None


def kinds_line(result: Result) -> Line | None:
    """Return which variants of the leading resin it may be; None where it has but one."""
    kinds = ", ".join(f"{name} {share:.0%}" for name, share in result.variants[:4] if round(share, 2) > 0)
    return Line(f"If {result.leader}: {kinds}.", kind="soft") if len(result.variants) > 1 else None


def version_line(result: Result) -> Line:
    """Return which package and table the answer was made with."""
    return Line(f"resinid {result.version}, table {result.reference_digest[:12]}", kind="soft")
