"""Bags, and what may be melted together, as HTML for a notebook."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.batches.bag_entries import WASHES
from resinid.batches.outcome import OUTCOMES
from resinid.heating.verdict import DO_NOT_HEAT, LOCAL, NOT_YET
from resinid.report.markup import bullets, card, el, fold, grid, line
from resinid.report.piece_html import bar
from resinid.report.text import percent, span

if TYPE_CHECKING:
    from collections.abc import Iterable
    from xml.etree.ElementTree import Element

    from resinid.batches.bag import Batch
    from resinid.batches.comparison import BatchComparison
    from resinid.batches.compatibility import MeltCompatibility
    from resinid.batches.composition import Composition
    from resinid.batches.hazards import HazardNote
    from resinid.batches.stock import StockMatrix
    from resinid.report.markup import Child

__all__ = [
    "batch_comparison_html",
    "batch_html",
    "composition_html",
    "melt_compatibility_html",
    "stock_html",
    "titled",
    "verdict_parts",
]

SHOWN: Final = 8


def batch_html(batch: Batch) -> str:
    """Return a bag for a notebook: what was sampled from it and what is known of it."""
    facts: list[Child] = [
        f"{len(batch.pieces)} pieces with observations" if batch.pieces else None,
        *(
            f"{flakes.floated} flakes floated and {flakes.sank} sank in {flakes.liquid.label}"
            for flakes in batch.flakes
        ),
        *(f"{count} marked {resin}" for resin, count in batch.marked),
        f"made by {batch.process}",
        f"melt flow rate {batch.mfr.value:g} ± {batch.mfr.u:g} g/10 min {batch.mfr_condition}" if batch.mfr else None,
        f"remarks: {', '.join(batch.remarks)}" if batch.remarks else None,
        f"kind of article: {batch.article}" if batch.article else None,
        f"labels: {', '.join(batch.labels)}" if batch.labels else None,
        f"wash: {batch.wash}" if batch.wash != WASHES[0] else None,
        f"melted {batch.melted_before} times before" if batch.melted_before else None,
        f"holds {batch.holds} items" if batch.holds else None,
        f"mass {batch.mass.value:g} ± {batch.mass.u:.3g} g" if batch.mass else None,
    ]
    return card(
        "Bag",
        line(f"{batch.name}: {batch.items} items looked at", class_="name"),
        bullets(fact for fact in facts if fact is not None),
    )


def composition_html(found: Composition) -> str:
    """Return for a notebook what a bag consists of."""
    shares = grid(
        "Largest expected shares",
        ("resin", "expected share", "0 to 100 %", "95 % interval", "before"),
        [
            (s.resin, percent(s.mean), bar(s.mean), f"{percent(s.low)} to {percent(s.high)}", percent(s.before))
            for s in found.shares[:SHOWN]
        ],
        numbers=(1, 3, 4),
    )
    contaminants = grid(
        f"Dangerous contaminants, upper limits at {100 * found.level:g} %",
        ("resin", "at most", "further clean samples", "for a limit of"),
        [
            (s.resin, percent(s.limit), "no number" if s.further is None else f"{s.further}", percent(s.wanted))
            for s in found.contaminants[:5]
        ],
        numbers=(1, 2, 3),
    )
    how = "summed over all assignments" if found.exact else "sampled from a fixed start"
    return card(
        f"Composition of {found.batch}",
        line(f"{found.batch}: mostly {found.main.resin}, {percent(found.main.mean)} expected", class_="name"),
        line(f"From {found.items} items; prior concentration {found.concentration:g}; {how}.", class_="soft"),
        shares,
        contaminants,
        fold(f"Sources ({len(found.sources)})", line(", ".join(found.sources) or "none")),
    )


def batch_comparison_html(found: BatchComparison) -> str:
    """Return for a notebook how far two bags are the same."""
    basis = f" (judged by {', '.join(found.basis)} besides)" if found.basis else ""
    return card(
        "Whether two bags are the same",
        line(f"{found.batches[0]} and {found.batches[1]}", class_="name"),
        grid(
            "Bayes factor for being the same, against unrelated",
            ("same", "factor"),
            [("resin", f"{found.bayes_factor_resin:.3g}"), (f"grade{basis}", f"{found.bayes_factor_grade:.3g}")],
            numbers=(1,),
        ),
        line(f"Chance that both have one main resin: {percent(found.same_main_probability)}."),
    )


def _hazard(note: HazardNote) -> str:
    onset = f", from about {note.onset:g} °C" if note.onset is not None else ""
    source = note.source or "from memory"
    seen = f" {note.seen}" if note.seen else ""
    who = f"{' with '.join(note.resins)} ({percent(note.probability)}{seen})"
    return f"{who}: {note.hazard}{onset}: {note.caution} [{source}]"


def melt_compatibility_html(found: MeltCompatibility) -> str:
    """Return for a notebook whether bags may be melted together."""
    return card("Whether bags may be melted together", *verdict_parts(found))


def verdict_parts(found: MeltCompatibility) -> list[Element | None]:
    """Return whether bags may be melted together, as parts of a card."""
    mix = ", ".join(f"{name} {share:.0%}" for name, share in zip(found.batches, found.shares, strict=True))
    guessed = " (an estimate: nobody published this pair)" if found.estimate and found.allowed else ""
    stop = " stop" if found.verdict in {DO_NOT_HEAT, NOT_YET} else ""
    flow = None
    if found.flow:
        rates = f"{found.flow.median:.2g} ({span(found.flow.low, found.flow.high, '.2g')}) g/10 min"
        doubt = "" if found.flow.valid else "; only an indication, the parts differ too much"
        flow = line(f"Melt flow rate by the log rule: {rates} at {found.flow.condition}{doubt}.")
    box = el(
        "div",
        line(el("strong", found.verdict)),
        line(f"Because: {found.deciding}{guessed}."),
        line(f"Danger (the next piece's) {percent(found.danger)}; at most {percent(found.danger_limit)} is borne."),
        bullets([*found.refusals, *map(_hazard, found.hazards[:4])]),
        class_=f"heat{stop}",
    )
    chances = grid(
        "What may become of it",
        ("outcome", "chance", "0 to 100 %"),
        [(name, percent(chance), bar(chance)) for name, chance in zip(OUTCOMES, found.chances, strict=True)],
        numbers=(1,),
    )
    changes = [f"{c.batch} at {percent(c.share)}: {c.verdict}" for c in found.changes]
    further = [f"enough for {each.batch}: {each.text}" for each in found.enough]
    charge = [
        f"{batch}: chance that of {pieces} pieces at least one must not be heated: {percent(chance)}"
        for batch, pieces, chance in dict.fromkeys(found.charge)
    ]
    return [
        line(mix, class_="name"),
        box,
        chances,
        *titled("Against one melt", (f"{r.text} (takes {percent(r.weight)})" for r in found.reasons[:5])),
        flow,
        *titled("Limits", found.limits if found.allowed else ()),
        *titled("It would change with these shares", changes),
        *titled("Tests that would tell most", (f"{gain.batch}: {gain.test}" for gain in found.tests[:3])),
        *titled("What may be done", found.remedies),
        *titled("The whole charge", charge),
        *titled("To go on", further),
        *titled("Cautions", [*map(_hazard, found.cautions), LOCAL]),
        fold(f"Sources ({len(found.sources)})", line(", ".join(found.sources) or "none")),
    ]


def titled(title: str, items: Iterable[str]) -> list[Element | None]:
    """Return a title and a list; nothing where there is nothing to list."""
    listed = bullets(items)
    return [] if listed is None else [line(el("strong", title)), listed]


def stock_html(found: StockMatrix) -> str:
    """Return a stock's matrix of verdicts for a notebook."""
    return card(
        "Stock: every two bags in equal shares",
        line(f"{len(found.names)} bags, every two in equal shares; each by itself on the diagonal", class_="name"),
        grid(
            "Verdict of each pair",
            ("bag", *found.names),
            [
                (name, *(el("strong", verdict) if verdict == DO_NOT_HEAT else verdict for verdict in row))
                for name, row in zip(found.names, found.verdicts, strict=True)
            ],
        ),
        line(LOCAL),
    )
