"""What the command line prints for people: plain text that fits 80 columns."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from resinid.io.fields import field_rules, options_of
from resinid.methods._guard import describe
from resinid.report.cautions import bath_cautions, named, reasons_beside, settling_words
from resinid.report.text import WIDTH, factor, percent, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.identification.result import Result
    from resinid.liquids import Liquid
    from resinid.methods.contract import Observation
    from resinid.methods.registry import Listed
    from resinid.reference.entries import Source
    from resinid.reference.table import ReferenceTable

__all__ = [
    "cautions_text",
    "columns",
    "heat_text",
    "liquid_text",
    "methods_text",
    "result_text",
    "short_text",
    "sources_text",
    "words_of",
]

SHORT: Final = 20
"""Lines of a short answer at most."""

ALONE: Final = (
    "x1 and so on: the factor by which that test by itself changes the probability. Tests that agree tell much of "
    "the same, so that each adds less to the others."
)


def columns(head: Sequence[str], rows: Iterable[Sequence[str]], right: Iterable[int] = ()) -> str:
    """Return aligned columns; the last is wrapped to what is left of 80 columns.

    Examples
    --------
    >>> print(columns(("resin", "share"), [("PE-HD", "9 %")], right=[1]))
    resin  share
    PE-HD    9 %
    """
    body = [tuple(row) for row in rows]
    right = set(right)
    widths = [max(len(row[i]) for row in (tuple(head), *body)) for i in range(len(head))]
    room = max(WIDTH - sum(widths[:-1]) - 2 * (len(widths) - 1), 12)
    widths[-1] = min(widths[-1], room)
    lines: list[str] = []
    for row in (tuple(head), *body):
        last = textwrap.wrap(row[-1], widths[-1]) or [""]
        cells = [*row[:-1], last[0]]
        parts = [
            cell.rjust(w) if i in right else cell.ljust(w)
            for i, (cell, w) in enumerate(zip(cells, widths, strict=True))
        ]
        lines.append("  ".join(parts).rstrip())
        indent = " " * (sum(widths[:-1]) + 2 * (len(widths) - 1))
        lines += [indent + more for more in last[1:]]
    return "\n".join(lines)


def result_text(result: Result, reference: ReferenceTable, top: int) -> str:
    """Return a whole answer: heating, ranking, observations, sources."""
    names = {resin.symbol: resin.name for resin in reference.resins}
    leader = f"{result.leader}, {names.get(result.leader, 'not in the table')}, {percent(result.probability[0])}"
    ranks = range(min(max(top, 1), len(result.resins)))
    whole = [["resin", *(result.resins[rank] for rank in ranks)]]
    whole.append(["probability", *(percent(result.probability[rank]) for rank in ranks)])
    whole.append(["before", *(percent(result.prior[rank]) for rank in ranks)])
    room = WIDTH - sum(max(map(len, column)) + 2 for column in whole)
    shown = 0
    for index, logs in enumerate(result.log_alone):
        column = [f"x{index + 1}", *(factor(logs[rank]) for rank in ranks)]
        room -= max(map(len, column)) + 2
        if room < -2:
            break
        whole.append(column)
        shown += 1
    head, *rows = zip(*whole, strict=True)
    parts = [heat_text(result), wrapped(f"{_title(result)}{leader}"), columns(head, rows, right=range(1, len(head)))]
    if shown:
        parts[-1] += "\n" + wrapped(ALONE, "", "")
    parts.append(_observations_text(result))
    if len(result.variants) > 1:
        kinds = ", ".join(f"{name} {share:.0%}" for name, share in result.variants[:4] if round(share, 2) > 0)
        parts.append(wrapped(f"If {result.leader}: {kinds}."))
    parts += [
        wrapped(f"No data on {name.replace('_', ' ')} (scored as an unlisted plastic): {', '.join(resins)}.")
        for name, resins in result.no_data
        if resins
    ]
    parts += _left_out(result)
    parts.append(wrapped("Sources: " + (", ".join(result.sources) or "none")))
    parts.append(f"resinid {result.version}, table {result.reference_digest[:12]}")
    return "\n\n".join(parts)


def short_text(result: Result, reference: ReferenceTable) -> str:
    """Return the answer in at most :data:`SHORT` lines, the verdict first; :func:`result_text` has the rest."""
    head = [
        wrapped(f"Heating: {result.heat.headline}.", "", ""),
        wrapped(_title(result) + named(result, reference), "", ""),
    ]
    against = [describe(result.observations[index]) for index in result.disagreeing]
    if against:
        head.append(wrapped(f"Does not fit {result.leader}, measure again: {'; '.join(against)}"))
    left = _left_out(result)
    last = [
        wrapped(result.heat.cautions[-1], "", ""),
        "Each test, what it told, and the sources: the same with --full.",
    ]
    items = [wrapped(reason, "  - ", "    ") for reason in reasons_beside(result.heat)]
    items += [wrapped(settling) for settling in filter(None, [settling_words(result.heat)])]
    items += [wrapped(caution, "  - ", "    ") for caution in result.heat.cautions[:-1]]
    items += [wrapped(f"bath: {each}", "  - ", "    ") for each in bath_cautions(result.observations)]
    room = SHORT - sum(part.count("\n") + 1 for part in (*head, *left, *last)) - 1
    kept: list[str] = []
    for item in items:
        lines = item.count("\n") + 1
        if lines > room:
            break
        room -= lines
        kept.append(item)
    if len(kept) < len(items):
        kept.append(f"  - and {len(items) - len(kept)} more reasons or cautions: --full")
    return "\n".join([*head, *left, *kept, *last])


def _title(result: Result) -> str:
    return f"{result.piece}: " if result.piece else ""


def _left_out(result: Result) -> list[str]:
    return [wrapped(f"Left out, because its plug-in failed: {why}") for _, why in result.left_out]


def _observations_text(result: Result) -> str:
    if not result.observations:
        return "No observations: this is the prior."
    lines: list[str] = []
    for index, observation in enumerate(result.observations):
        chance = result.outlier[index]
        verdict = f"DISAGREES, {chance:.0%} likely botched" if index in result.disagreeing else "agrees"
        told = f"{factor(result.log_factors[index][0])} in addition"
        if result.log_alone:
            told = f"{factor(result.log_alone[index][0])} by itself, {told}"
        lines.append(wrapped(f"{describe(observation)}: {verdict}; {told}", f"  x{index + 1}  ", "      "))
    head = (
        f"Observations, whether they agree with {result.leader}, and the factor by which each changes its probability:"
    )
    return "\n".join([wrapped(head, "", ""), *lines])


def heat_text(result: Result) -> str:
    """Return whether a piece may be heated, what would settle it, and all that is to beware of."""
    lines = [wrapped(f"Heating: {result.heat.headline}.", "", "")]
    lines += [wrapped(reason, "  - ", "    ") for reason in reasons_beside(result.heat)]
    lines += [wrapped(settling) for settling in filter(None, [settling_words(result.heat)])]
    return "\n".join([*lines, cautions_text(result)])


def cautions_text(result: Result) -> str:
    """Return all that is to beware of, each once."""
    cautions = dict.fromkeys((*result.heat.cautions, *(f"bath: {c}" for c in bath_cautions(result.observations))))
    return "\n".join(["Cautions:", *(wrapped(caution, "  - ", "    ") for caution in cautions)])


def liquid_text(liquid: Liquid) -> str:
    """Return a liquid's density, how it was found and what to beware of."""
    lines = [f"{liquid.label}: {liquid.density:.4f} ± {liquid.u:.4f} g/cm3 at {liquid.temperature:g} °C"]
    lines.append(wrapped(liquid.how, "", ""))
    if liquid.flash is not None:
        lines.append(wrapped(f"Its vapour can be lit from about {liquid.flash:.0f} °C on.", "", ""))
    if liquid.caution:
        lines.append(wrapped(f"Caution: {liquid.caution}", "", ""))
    lines.append(wrapped(f"Sources: {', '.join(liquid.sources)}", "", ""))
    return "\n".join(lines)


def words_of(test: type[Observation]) -> dict[str, tuple[str, ...]]:
    """Return the words that each field of a test chooses from; fields that are read otherwise are left out.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> words_of(FloatTest)
    {'outcome': ('floats', 'hovers', 'sinks')}
    """
    return {name: words for name, rule in field_rules(test).items() if (words := options_of(rule))}


def methods_text(found: Iterable[Listed]) -> str:
    """Return the list of methods."""
    parts: list[str] = []
    for entry in found:
        method = entry.method
        lines = [f"{method.name} {method.version} ({entry.origin})", wrapped(method.summary, "  ", "  ")]
        lines.append(wrapped("tests: " + ", ".join(test.test for test in method.tests), "  ", "    "))
        for test in method.tests:
            for name, words in words_of(test).items():
                said = f"{test.test}, {name}: {', '.join(words)}"
                lines.append(wrapped(said, "    ", "      "))  # for the words are copied from here
        if method.caution:
            lines.append(wrapped(f"caution: {method.caution}", "  ", "    "))
        lines.append(wrapped("sources: " + "; ".join(method.sources), "  ", "    "))
        parts.append("\n".join(lines))
    return "\n\n".join(parts)


def sources_text(sources: Iterable[Source]) -> str:
    """Return the list of sources."""
    return "\n".join(
        wrapped(f"{s.key} [{s.kind}, {s.read}] {s.citation}{f' {s.url}' if s.url else ''}", "", "    ") for s in sources
    )
