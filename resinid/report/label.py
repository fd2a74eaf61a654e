"""A label for a bin or a bag: what is in it, whether it may be melted, from where to where, lot and date."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.heating.verdict import DO_NOT_HEAT, LOCAL
from resinid.identification.result import SURE, Result
from resinid.report.cautions import named
from resinid.report.markup import el, elements, page_of
from resinid.report.property_spans import reference_of
from resinid.report.sections import Line, Section
from resinid.report.style import LABEL, STYLE
from resinid.report.text import clean, lot_words, percent

if TYPE_CHECKING:
    from resinid.batches.composition import Composition
    from resinid.melting.steps import MeltPlan
    from resinid.reference.table import ReferenceTable

__all__ = ["bag_label", "piece_label"]

LONGEST: Final = 60
"""[characters] A name or a lot is cut to this."""

MOST: Final = 3
"""Cautions on a label; the sheet and the plan have them all."""


@dataclass(frozen=True, slots=True)
class _Label:
    """What stands on a label."""

    name: str
    what: str
    verdict: str
    allowed: bool
    why: str
    cautions: tuple[str, ...]
    version: str


def piece_label(result: Result, *, lot: str = "", date: str = "", reference: ReferenceTable | None = None) -> str:
    """Return the label of a bin for pieces like one that was tested: a small HTML page to print and cut out.

    Parameters
    ----------
    result : Result
    lot, date : str, optional
        As they are to stand on it; a blank to write on where not given.
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.

    Raises
    ------
    InputError
        The answer was made with another table.

    Examples
    --------
    >>> import resinid
    >>> seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
    >>> page = piece_label(resinid.identify(seen, piece="cap"), lot="7", date="2026-11-30")
    >>> "NOT YET" in page, "2026-11-30" in page
    (True, True)
    """
    heat, chosen = result.heat, reference_of(result, reference)
    return _page(
        _Label(
            result.piece,
            named(result, chosen),
            heat.headline,
            heat.allowed,
            heat.reasons[0] if heat.reasons and not heat.allowed else "",
            heat.cautions[:-1] if heat.allowed else (),
            f"resinid {result.version}, table {result.reference_digest[:12]}",
        ),
        lot,
        date,
    )


def bag_label(found: Composition, plan: MeltPlan, *, lot: str = "", date: str = "", reference: ReferenceTable) -> str:
    """Return the label of a bag, by what it consists of and its melt plan.

    Parameters
    ----------
    found : Composition
    plan : MeltPlan
        Of the same bag.
    lot, date : str, optional
        As they are to stand on it.
    reference : ReferenceTable
        The table that both were made with.
    """
    verdict = plan.verdict
    said, why = verdict.verdict, "; ".join(verdict.limits) if verdict.allowed else verdict.deciding
    if plan.steps is not None:
        said = f"may be melted from {plan.steps.window.low:.0f} to {plan.steps.window.high:.0f} °C: {verdict.verdict}"
    elif verdict.allowed:
        said, why = DO_NOT_HEAT, f"there is no plan: {plan.problem}"
    cautions = tuple(f"{' with '.join(note.resins)}: {note.hazard}: {note.caution}" for note in verdict.cautions)
    allowed = plan.steps is not None
    return _page(
        _Label(found.batch, _contents(found, reference), said, allowed, why, cautions if allowed else (), ""), lot, date
    )


def _contents(found: Composition, reference: ReferenceTable) -> str:
    """Return what a bag consists of, at the finest level that makes up nine tenths of it."""
    main, means = found.main, {share.resin: share.mean for share in found.shares}
    name = next((f" ({resin.name})" for resin in reference.resins if resin.symbol == main.resin), "")
    items = f"{found.items} items looked at"
    if main.mean >= SURE:
        return f"{main.resin} {percent(main.mean)}{name}, {items}"
    for group in reference.melt_groups:
        share = sum(means.get(member, 0.0) for member in group.members)
        if main.resin in group.members and share >= SURE:
            return f"{group.name} {percent(share)}, mostly {main.resin} {percent(main.mean)}, {items}"
    return "mixed: " + ", ".join(f"{share.resin} {percent(share.mean)}" for share in found.shares[:3]) + f", {items}"


def _page(label: _Label, lot: str, date: str) -> str:
    name = textwrap.shorten(clean(label.name), LONGEST, placeholder="...")
    verdict = (Line("", f"Heating: {label.verdict}"), Line(label.why) if label.why else None)
    parts = (
        Section("", verdict, "heat" if label.allowed else "heat stop"),
        Line(name or "______________", kind="lot"),
        Line(lot_words(lot, date, LONGEST), kind="lot"),
        *(Line(caution, kind="small") for caution in label.cautions[:MOST]),
        Line(LOCAL, kind="small"),
        Line(label.version, kind="soft small") if label.version else None,
    )
    body = el("main", el("h1", label.what), *elements(parts), class_="resinid")
    return page_of(f"Label: {name or label.what}", STYLE + LABEL, body)
