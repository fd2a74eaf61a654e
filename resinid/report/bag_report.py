"""Bags, and what may be melted together, as parts of a report."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from resinid.batches.bag_entries import WASHES
from resinid.batches.outcome import OUTCOMES
from resinid.heating.verdict import DO_NOT_HEAT, LOCAL, NOT_YET
from resinid.report.sections import Items, Line, Report, Section, Table, listed, sources_part
from resinid.report.text import SHORT, WIDTH, columns, percent, share_words, span, wrapped

if TYPE_CHECKING:
    from resinid.batches.bag import Batch
    from resinid.batches.comparison import BatchComparison
    from resinid.batches.compatibility import MeltCompatibility
    from resinid.batches.composition import Composition
    from resinid.batches.hazards import HazardNote
    from resinid.batches.stock import StockMatrix
    from resinid.report.sections import Part

__all__ = [
    "FAR",
    "batch_report",
    "comparison_report",
    "compatibility_parts",
    "compatibility_report",
    "composition_report",
    "danger_words",
    "hazard_line",
    "stock_report",
    "stock_text",
]

FAR: Final = 10.0
"""How many times below the limit a chance of danger lies that is not listed unless asked for."""

NAME: Final = 24
"""[characters] A longer name of a batch is cut in a matrix."""

SHOWN: Final = 8


def batch_report(batch: Batch) -> Report:
    """Return what was sampled from a bag and what is known of it."""
    facts = (
        f"{len(batch.pieces)} pieces with observations" if batch.pieces else "",
        *(
            f"{flakes.floated} flakes floated and {flakes.sank} sank in {flakes.liquid.label}"
            for flakes in batch.flakes
        ),
        *(f"{count} marked {resin}" for resin, count in batch.marked),
        f"made by {batch.process}",
        f"melt flow rate {batch.mfr.value:g} ± {batch.mfr.u:g} g/10 min {batch.mfr_condition}" if batch.mfr else "",
        f"remarks: {', '.join(batch.remarks)}" if batch.remarks else "",
        f"kind of article: {batch.article}" if batch.article else "",
        f"labels: {', '.join(batch.labels)}" if batch.labels else "",
        f"wash: {batch.wash}" if batch.wash != WASHES[0] else "",
        f"melted {batch.melted_before} times before" if batch.melted_before else "",
        f"holds {batch.holds} items" if batch.holds else "",
        f"mass {batch.mass.value:g} ± {batch.mass.u:.3g} g" if batch.mass else "",
    )
    name = Line(f"{batch.name}: {batch.items} items looked at", kind="name")
    return Report("Bag", (name, Items(tuple(filter(None, facts)))))


def hazard_line(note: HazardNote, *, full: bool = True) -> str:
    """Return in a line what can hurt, from where on, and what to do about it; the source where all is asked for."""
    onset = f", from about {note.onset:g} °C" if note.onset is not None else ""
    source = (f" [{note.source}]" if full else "") if note.source else " [from memory]"
    seen = f" {note.seen}" if note.seen else ""
    chance = "" if note.probability >= 1.0 else f" ({percent(note.probability)}{seen})"  # a hot plate is always there
    return f"{' with '.join(note.resins)}{chance}: {note.hazard}{onset}: {note.caution}{source}"


def danger_words(found: MeltCompatibility) -> str:
    """Return how large the danger is, and how large it may be."""
    return f"Danger (the next piece's) {percent(found.danger)}; at most {percent(found.danger_limit)} is borne."


def composition_report(found: Composition, top: int = SHOWN) -> Report:
    """Return what a bag consists of."""
    main, shares = found.main, found.shares[: max(top, 1)]
    rows = [(s.resin, percent(s.mean), f"{percent(s.low)} to {percent(s.high)}", percent(s.before)) for s in shares]
    contaminants = [
        (s.resin, percent(s.limit), "no number" if s.further is None else f"{s.further}", percent(s.wanted))
        for s in found.contaminants[:4]
    ]
    how = "summed over all assignments" if found.exact else "sampled with a fixed stream of random numbers"
    return Report(
        f"Composition of {found.batch}",
        (
            Line(
                f"{found.batch}: mostly {main.resin}, {percent(main.mean)} of it expected "
                f"(95 % interval {percent(main.low)} to {percent(main.high)}), from {found.items} items",
                kind="name",
            ),
            Table(
                "Largest expected shares",
                ("resin", "expected share", "95 % interval", "before"),
                rows,
                (1, 2, 3),
                [share.mean for share in shares],
            ),
            Table(
                f"Dangerous contaminants, upper limit at {100 * found.level:g} %",
                ("resin", "at most", "further clean samples", "for a limit of"),
                contaminants,
                (1, 2, 3),
            ),
            Line(f"Prior concentration {found.concentration:g}; {how}.", kind="soft"),
            Line(f"This is no leave to heat it: plan and together say whether it may be. {LOCAL}"),
            sources_part(found.sources),
        ),
    )


def comparison_report(found: BatchComparison) -> Report:
    """Return how far two bags are the same."""
    basis = f" (judged by {', '.join(found.basis)} besides)" if found.basis else ""
    rows = [
        ("same resin", f"{found.bayes_factor_resin:.3g}"),
        (f"same grade{basis}", f"{found.bayes_factor_grade:.3g}"),
    ]
    return Report(
        "Whether two bags are the same",
        (
            Line(f"{found.batches[0]} and {found.batches[1]}", kind="name"),
            Table("Bayes factor for being the same, against unrelated", ("claim", "factor"), rows, (1,)),
            Line(f"Chance that both have one main resin: {percent(found.same_main_probability)}."),
        ),
    )


def compatibility_report(found: MeltCompatibility, *, full: bool = True) -> Report:
    """Return whether bags may be melted together."""
    return Report("Whether bags may be melted together", compatibility_parts(found, full=full))


def compatibility_parts(found: MeltCompatibility, *, full: bool = True) -> tuple[Part | None, ...]:
    """Return whether bags may be melted together, small chances of danger and sources included where asked for."""
    stop = found.verdict in {DO_NOT_HEAT, NOT_YET}
    guessed = " (an estimate: nobody published this pair)" if found.estimate and found.allowed else ""
    otherwise = Line(f"If that did not stand in the way: {found.outcome}.") if found.verdict != found.outcome else None
    box = (
        Line("", f"{share_words(found.batches, found.shares)}: {found.verdict}"),
        otherwise,
        Line(f"Because: {found.deciding}{guessed}."),
        *_danger_parts(found, full=full),
    )
    chances = [(name, percent(chance)) for name, chance in zip(OUTCOMES, found.chances, strict=True)]
    reasons = (f"{r.text} (takes {percent(r.weight)})" for r in found.reasons[:5])
    changed = [f"{c.batch} at {percent(c.share)}: {c.verdict}" for c in found.changes]
    if len(found.batches) == 2 and found.changes:  # of two the share of one settles the other's
        shares = " and ".join(f"{c.batch} at {percent(c.share)}" for c in found.changes)
        changed = [f"{shares}: {found.changes[0].verdict}"]
    return (
        Section("", box, "heat stop" if stop else "heat"),
        Table("What may become of it", ("outcome", "chance"), chances, (1,), found.chances),
        listed("Against one melt", reasons) if len(found.reasons) > 1 else None,
        _flow_line(found),
        listed("Limits", found.limits if found.allowed else ()),
        listed("What may be done", found.remedies),
        listed("It would change with these shares", changed),
        listed(
            "Tests that would tell most",
            (f"{g.batch}: {g.test}{f' ({g.caution})' if g.caution else ''}" for g in found.tests[:3]),
        ),
        listed("Cautions", (*(hazard_line(note, full=full) for note in found.cautions), LOCAL)),
        sources_part(found.sources),
    )


def _danger_parts(found: MeltCompatibility, *, full: bool) -> tuple[Line, Items]:
    """Return the danger and what makes it up, the chance that a whole charge holds some, and what is still to do."""
    least = 0.0 if full or found.danger > found.danger_limit else found.danger_limit / FAR  # many small ones add up
    told = [note for note in found.hazards if note.probability >= least]
    cut = f" What makes up less than {percent(least)} each is left out; --full has it."
    charges = (
        f"{batch}: chance that of {pieces} pieces at least one must not be heated: {percent(chance)}"
        for batch, pieces, chance in dict.fromkeys(found.charge)
    )
    items = (
        *found.refusals,
        *(hazard_line(note, full=full) for note in told[:4]),
        *charges,
        *(f"enough for {each.batch}: {each.text}" for each in found.enough),
    )
    return Line(danger_words(found) + (cut if len(told) < len(found.hazards) else "")), Items(items)


def _flow_line(found: MeltCompatibility) -> Line | None:
    flow = found.flow
    if not flow:
        return None
    differ = f"; the parts differ {flow.ratio:.3g} times" if flow.ratio > 1.0 else ""
    valid = "" if flow.valid else "; only an indication, the parts differ too much"
    rates = f"{flow.median:.2g} ({span(flow.low, flow.high, '.2g')}) g/10 min"
    return Line(f"Melt flow rate by the log rule: {rates} at {flow.condition}{differ}{valid}.")


def stock_report(found: StockMatrix) -> Report:
    """Return a stock's matrix of verdicts."""
    rows = [
        (name, *(Line("", verdict) if verdict == DO_NOT_HEAT else verdict for verdict in row))
        for name, row in zip(found.names, found.verdicts, strict=True)
    ]
    return Report(
        "Stock: every two bags in equal shares",
        (
            Line(f"{len(found.names)} bags, every two in equal shares; each by itself on the diagonal", kind="name"),
            Table("Verdict of each pair", ("bag", *found.names), rows),
            Line(LOCAL),
        ),
    )


def stock_text(found: StockMatrix) -> str:
    """Return a matrix of verdicts, numbers in its head for the names; a wide one in blocks of columns."""
    size = len(found.names)
    names = [f"{place + 1} {textwrap.shorten(name, NAME, placeholder='...')}" for place, name in enumerate(found.names)]
    across = (WIDTH - max(map(len, names))) // (max(map(len, SHORT.values())) + 2)
    blocks = [
        columns(
            ("batch", *(str(place + 1) for place in range(first, min(first + across, size)))),
            [
                (name, *(SHORT[verdict] for verdict in row[first : first + across]))
                for name, row in zip(names, found.verdicts, strict=True)
            ],
        )
        for first in range(0, size, across)
    ]
    legend = "; ".join(f"{short}: {verdict}" for verdict, short in SHORT.items())
    return "\n\n".join(blocks) + "\n\n" + wrapped(legend) + "\n" + wrapped(LOCAL)
