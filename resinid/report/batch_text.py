"""What the commands for bags print for people: plain text that fits 80 columns."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from resinid.batches.outcome import OUTCOMES
from resinid.heating.verdict import LOCAL
from resinid.report.piece_text import columns
from resinid.report.text import SHORT, WIDTH, percent, span, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.batches.comparison import BatchComparison
    from resinid.batches.compatibility import MeltCompatibility
    from resinid.batches.composition import Composition
    from resinid.batches.hazards import HazardNote
    from resinid.batches.stock import StockMatrix

__all__ = [
    "bullets_of",
    "comparison_text",
    "composition_text",
    "hazard_line",
    "sources_line",
    "stock_text",
    "verdict_text",
]

FAR: Final = 10.0
"""How many times below the limit a chance of danger lies that is not listed unless asked for."""

NAME: Final = 24
"""[characters] A longer name of a batch is cut in a matrix."""


def bullets_of(items: Iterable[str]) -> list[str]:
    """Return lines with a dash before each."""
    return [wrapped(item, "  - ", "    ") for item in items]


def hazard_line(note: HazardNote, *, full: bool) -> str:
    """Return in a line what can hurt, from where on, and what to do about it."""
    onset = f", from about {note.onset:g} °C" if note.onset is not None else ""
    source = (f" [{note.source}]" if full else "") if note.source else " [from memory]"
    seen = f" {note.seen}" if note.seen else ""
    chance = "" if note.probability >= 1.0 else f" ({percent(note.probability)}{seen})"  # a hot plate is always there
    who = f"{' with '.join(note.resins)}{chance}"
    return f"{who}: {note.hazard}{onset}: {note.caution}{source}"


def sources_line(title: str, keys: Sequence[str], *, full: bool) -> str:
    """Return the sources by key, or how many there are."""
    if full or not keys:
        return wrapped(f"{title}: {', '.join(keys) or 'none'}")
    return wrapped(f"{title}: {len(keys)}; --full names them, 'resinid sources' prints each.")


def composition_text(found: Composition, top: int, *, full: bool = False) -> str:
    """Return what a bag consists of."""
    rows = [
        (s.resin, percent(s.mean), f"{percent(s.low)} to {percent(s.high)}", percent(s.before))
        for s in found.shares[: max(top, 1)]
    ]
    parts = [
        wrapped(
            f"{found.batch}: mostly {found.main.resin}, {percent(found.main.mean)} of it expected "
            f"(95 % interval {percent(found.main.low)} to {percent(found.main.high)}), from {found.items} items"
        ),
        columns(("resin", "expected share", "95 % interval", "before"), rows, right=(1, 2, 3)),
    ]
    lines = [f"Dangerous contaminants, upper limit at {100 * found.level:g} %:"]
    for contaminant in found.contaminants[:4]:
        more = "no number of" if contaminant.further is None else f"{contaminant.further}"
        lines.append(
            wrapped(
                f"{contaminant.resin}: at most {percent(contaminant.limit)}; "
                f"{more} further clean samples for {percent(contaminant.wanted)}",
                "  - ",
                "    ",
            )
        )
    parts.append("\n".join(lines))
    how = "summed over all assignments" if found.exact else "sampled with a fixed stream of random numbers"
    parts.append(wrapped(f"Prior concentration {found.concentration:g}; {how}."))
    parts.append(wrapped("This is no leave to heat it: plan and together say whether it may be. " + LOCAL))
    parts.append(sources_line("Sources", found.sources, full=full))
    return "\n\n".join(parts)


def comparison_text(found: BatchComparison) -> str:
    """Return how far two batches are the same."""
    basis = f" (judged by {', '.join(found.basis)} besides)" if found.basis else ""
    return "\n".join(
        [
            f"{found.batches[0]} and {found.batches[1]}: Bayes factor",
            f"  same resin  {found.bayes_factor_resin:.3g}",
            f"  same grade  {found.bayes_factor_grade:.3g}{basis}",
            f"  chance that both have one main resin: {percent(found.same_main_probability)}",
        ]
    )


def verdict_text(found: MeltCompatibility, *, full: bool = False) -> str:
    """Return whether batches may be melted together."""
    mix = ", ".join(f"{name} {share:.0%}" for name, share in zip(found.batches, found.shares, strict=True))
    guessed = " (an estimate: nobody published this pair)" if found.estimate and found.allowed else ""
    parts = [wrapped(f"{mix}: {found.verdict}"), wrapped(f"Because: {found.deciding}{guessed}")]
    parts.append(
        columns(
            ("outcome", "chance"),
            [(name, percent(chance)) for name, chance in zip(OUTCOMES, found.chances, strict=True)],
            right=[1],
        )
    )
    if found.verdict != found.outcome:
        parts.insert(1, wrapped(f"If that did not stand in the way: {found.outcome}"))
    danger = f"Danger (the next piece's) {percent(found.danger)}; at most {percent(found.danger_limit)} is borne."
    least = 0.0 if full else found.danger_limit / FAR
    told = [note for note in found.hazards if note.probability >= least]
    if found.danger > found.danger_limit:  # also where many small ones make it up
        told = list(found.hazards)
    if len(told) < len(found.hazards) and not full:
        danger += f" What makes up less than {percent(least)} each is left out; --full has it."
    lines = [
        wrapped(danger),
        *bullets_of(found.refusals),
        *bullets_of(hazard_line(note, full=full) for note in told[:4]),
        *bullets_of(_charges(found)),
        *bullets_of(f"enough for {each.batch}: {each.text}" for each in found.enough),
    ]
    parts.append("\n".join(lines))
    if len(found.reasons) > 1:
        against = (f"{r.text} (takes {percent(r.weight)})" for r in found.reasons[:5])
        parts.append("\n".join(["Against one melt:", *bullets_of(against)]))
    if found.flow:
        valid = "" if found.flow.valid else "; only an indication, the parts differ too much"
        flow = found.flow
        differ = f"; the parts differ {flow.ratio:.3g} times" if flow.ratio > 1.0 else ""
        parts.append(
            wrapped(
                f"Melt flow rate by the log rule: {flow.median:.2g} ({span(flow.low, flow.high, '.2g')}) "
                f"g/10 min at {flow.condition}{differ}{valid}"
            )
        )
    changed = [f"{c.batch} at {percent(c.share)}: {c.verdict}" for c in found.changes]
    if len(found.batches) == 2 and found.changes:  # of two the share of one settles the other's
        shares = " and ".join(f"{c.batch} at {percent(c.share)}" for c in found.changes)
        changed = [f"{shares}: {found.changes[0].verdict}"]
    tests = [f"{g.batch}: {g.test}{f' ({g.caution})' if g.caution else ''}" for g in found.tests[:3]]
    for title, said in (
        ("Limits:", found.limits if found.allowed else ()),
        ("What may be done:", found.remedies),
        ("It would change with these shares:", changed),
        ("Tests that would tell most:", tests),
        ("Cautions:", [hazard_line(note, full=full) for note in found.cautions]),
    ):
        if said:
            parts.append("\n".join([title, *bullets_of(said)]))
    parts.append(sources_line("Sources", found.sources, full=full))
    parts.append(wrapped(LOCAL))
    return "\n\n".join(parts)


def _charges(found: MeltCompatibility) -> list[str]:
    """Say how likely a whole charge holds a piece that must not be heated."""
    return [
        f"{batch}: chance that of {pieces} pieces at least one must not be heated: {percent(chance)}"
        for batch, pieces, chance in dict.fromkeys(found.charge)
    ]


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
