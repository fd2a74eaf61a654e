"""The command for a workshop's record, and the option ``--record`` of others."""

from __future__ import annotations

import argparse
import os
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from resinid.cli.document_files import naming, read_text
from resinid.report.text import wrapped

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from resinid.record.checks import Share
    from resinid.record.entry import Entry
    from resinid.record.learn import LearnedPrior
    from resinid.record.record import Record
    from resinid.reference.table import ReferenceTable

    Printed = tuple[str, Any]
    Command = Callable[[str, str, Callable[[argparse.Namespace], Printed]], argparse.ArgumentParser]

__all__ = ["add_record", "add_record_command", "learned_of", "noted", "recording"]

SHOWN: Final = 8
"""Resins whose learned shares are printed."""

HISTORY: Final = "Verdicts as they count by the reference table in use; 'show' works one out again."


def add_record(parser: argparse.ArgumentParser, *, learns: bool = False) -> None:
    """Add the options that keep an answer in a record, and of a piece those that learn from it."""
    what = "keep the answer in this record, and learn the prior from it" if learns else "keep the answer in this record"
    parser.add_argument("--record", metavar="FILE", help=f"{what} (see 'resinid guide record')")
    parser.add_argument("--source", default="", help="where it came from, for the record")
    if learns:
        parser.add_argument("--article", default="", help="what kind of thing it is, for the record")


@contextmanager
def recording(chosen: argparse.Namespace, reference: ReferenceTable) -> Iterator[Record | None]:
    """Give the record that ``--record`` names, open before anything is worked out; None where none is named."""
    if chosen.record is None:
        yield None
        return
    from resinid.record.record import Record

    with Record(chosen.record, reference=reference) as record:
        yield record


def learned_of(record: Record | None, chosen: argparse.Namespace, prior: object) -> LearnedPrior | None:
    """Return what the record teaches; None without a record, or where a prior was named."""
    if record is None or prior not in {None, "default"}:
        return None
    found = record.prior(article=chosen.article, source=chosen.source)
    return found if found.confirmed else None


def noted(
    record: Record, number: int, text: str, data: Mapping[str, Any], learned: LearnedPrior | None = None
) -> tuple[str, dict[str, Any]]:
    """Return an answer with where it was recorded, and before it what the record knows that forbids heating."""
    said = f"Recorded as {number} in {record.path}"
    kept: dict[str, Any] = {"file": str(record.path), "number": number, "learned_from": 0}
    if learned is not None:
        said += f"; {learned.describe()}"
        kept |= {"learned_from": learned.confirmed, "weight": learned.weight, "of": learned.of}
    text = f"{text}\n{wrapped(f'{said}.', '', '')}"
    danger = record.dangers().get(number)
    if danger:
        kept["danger"] = danger
        text = (
            f"{wrapped(f'DO NOT HEAT: {danger}, by the record. What follows knows only the readings.', '', '')}\n{text}"
        )
    return text, {**data, "record": kept}


def add_record_command(
    command: Command, table_options: Callable[[argparse.ArgumentParser], None], table_of: Callable[..., ReferenceTable]
) -> None:
    """Add the command to the parser."""
    whole = command(
        "record", "Keep a record of pieces, bags, plans and slabs, and learn from it.", lambda _: ("", None)
    )
    actions = whole.add_subparsers(title="actions", required=True, metavar="ACTION")

    def action(
        name: str, does: str, run_it: Callable[[argparse.Namespace, Record], Printed], *, writes: bool = False
    ) -> argparse.ArgumentParser:
        def run(chosen: argparse.Namespace) -> Printed:
            from resinid.record.record import Record

            read_only = not writes and not os.access(chosen.file, os.W_OK)
            with Record(chosen.file, read_only=read_only, reference=table_of(chosen)) as record:
                return run_it(chosen, record)

        added: argparse.ArgumentParser = actions.add_parser(name, help=does, description=does)
        added.add_argument("file", help="the record, an SQLite file" + ("; made where there is none" if writes else ""))
        added.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="print JSON for scripts")
        table_options(added)
        added.set_defaults(command=run)
        return added

    added = action("add", "Record documents of pieces and bags, or a slab.", _add, writes=True)
    added.add_argument("document", nargs="*", help="TOML or JSON files of pieces or bags")
    added.add_argument("--slab", metavar="NAME", help="record a slab instead")
    added.add_argument("--from", dest="parts", type=int, nargs="+", default=[], help="numbers it was made from")
    added.add_argument("--source", default="", help="where it came from")
    listed = action("list", "List the entries.", _list)
    listed.add_argument("--kind", help="piece, bag, plan, slab or table only")
    listed.add_argument("--open", action="store_true", help="only those of which nothing turned out yet")
    show = action("show", "Show one entry, what it was made from and what was made from it.", _show)
    show.add_argument("number", type=int)
    confirm = action("confirm", "Write down what turned out.", _confirm, writes=True)
    confirm.add_argument("number", type=int)
    confirm.add_argument("outcome", nargs="+", help="a resin, 'none of these', pressed well, delaminated, or fumed")
    confirm.add_argument("--how", default="", help="how it was found, such as DSC")
    confirm.add_argument("--note", default="")
    tried = action("instrument", "Write down what an instrument showed of what is known.", _check, writes=True)
    tried.add_argument("instrument", help="thermometer, scale or jug; one of several as 'thermometer:oven'")
    tried.add_argument("--shows", required=True, help="what it shows, such as '102 degC'")
    tried.add_argument(
        "--is", dest="true", metavar="VALUE", required=True, help="what it should, such as '100.0 ± 0.5 degC'"
    )
    learn = action("learn", "Print what the record teaches: shares of resins, and instruments.", _learn)
    learn.add_argument("--article", default="", help="of things of that kind")
    learn.add_argument("--source", default="", help="of what came from there")
    action("review", "Print how good the answers were, by what turned out.", _checks)
    out = action("export", "Write the record to a .csv, .parquet or .json file.", _export)
    out.add_argument("target")
    out.add_argument("--without-names", action="store_true", help="leave out what a person wrote freely")


def _add(chosen: argparse.Namespace, record: Record) -> Printed:
    from resinid.batches.bag import read_batch
    from resinid.batches.composition import batch_composition
    from resinid.errors import Fault, InputError
    from resinid.identification.identify import identify
    from resinid.io.document import is_bag, parsed, read_document

    if bool(chosen.slab) == bool(chosen.document):
        raise InputError([Fault("document", "give files of pieces and bags, or --slab NAME")])
    numbers: list[int] = []
    if chosen.slab:
        numbers.append(record.add("slab", chosen.slab, source=chosen.source, made_from=chosen.parts))
        danger = record.dangers().get(numbers[0])
        if danger:
            said = f"DO NOT HEAT again, and keep apart: {danger}. Recorded in {record.path} as {numbers[0]}."
            return wrapped(said, "", ""), {"numbers": numbers, "danger": danger}
    for file in chosen.document:
        text = read_text(file)
        with naming(file):
            if is_bag(parsed(text)):
                bag = read_batch(text, Path(file).stem, Path(file).parent)
                found = batch_composition(bag, reference=record.reference).to_dict()
                numbers.append(record.add_bag(bag, found, source=chosen.source, made_from=chosen.parts))
                continue
            document = read_document(text)
            answer = identify(
                document.observations,
                piece=document.piece or Path(file).stem,
                prior=document.prior,
                allow=document.allow,
                reference=record.reference,
            )
            numbers.append(record.add_result(answer, source=chosen.source))
    return f"Recorded in {record.path} as {', '.join(map(str, numbers))}.", {"numbers": numbers}


def _list(chosen: argparse.Namespace, record: Record) -> Printed:
    from resinid.report.text import columns

    entries = [
        each
        for each in record.entries()
        if chosen.kind in {None, each.kind} and not (chosen.open and (each.confirmed or each.fates))
    ]
    verdicts = record.verdicts()
    rows = [_cells(each, verdicts[each.number]) for each in entries]
    head = ("no.", "what", "day", "turned out", "verdict", "name")
    text = f"{columns(head, rows, right=[0])}\n\n{HISTORY}" if rows else "Nothing is recorded."
    return text, [_data(each, verdicts[each.number]) for each in entries]


def _cells(entry: Entry, verdict: str) -> tuple[str, ...]:
    short = "DO NOT HEAT (history)" if "history" in verdict else verdict.partition(":")[0].partition(",")[0]
    turned = ", ".join(filter(None, (entry.confirmed, *entry.fates)))
    return str(entry.number), entry.kind, entry.at[:10], turned or "-", short or "-", entry.name or "-"


def _data(entry: Entry, verdict: str) -> dict[str, Any]:
    return {
        "number": entry.number,
        "kind": entry.kind,
        "name": entry.name,
        "at": entry.at,
        "article": entry.article,
        "source": entry.source,
        "confirmed": entry.confirmed,
        "fates": list(entry.fates),
        "made_from": list(entry.made_from),
        "verdict": verdict,
    }


def _show(chosen: argparse.Namespace, record: Record) -> Printed:
    from resinid.report.piece_report import short_text
    from resinid.report.text import columns

    entry = record.entry(chosen.number)
    way = record.trace(chosen.number)
    verdicts = record.verdicts()
    verdict = verdicts[entry.number]
    data: dict[str, Any] = _data(entry, verdict) | {"evidence": entry.evidence, "trace": [each.number for each in way]}
    lines = [f"{entry.kind} {entry.number}: {entry.name or 'without a name'}, recorded {entry.at}"]
    lines += [f"{what}: {said}" for what, said in (("article", entry.article), ("source", entry.source)) if said]
    lines += [
        f"turned out {each.at[:10]}: {each.what}" + "".join(f", {said}" for said in (each.how, each.note) if said)
        for each in entry.outcomes
    ]
    lines += [wrapped(f"verdict: {verdict}")] if verdict else []
    if entry.kind == "piece" and entry.answer and (entry.answer.verdict == verdict):
        answer = record.result(entry.number)
        lines += ["", short_text(answer, record.reference)]
        data["answer"] = answer.to_dict()
    lines += [wrapped(each) for each in entry.planned()]
    if len(way) > 1:
        rows = [_cells(each, verdicts[each.number]) for each in way]
        lines += ["", columns(("no.", "what", "day", "turned out", "verdict", "name"), rows, right=[0])]
    return "\n".join(lines), data


def _confirm(chosen: argparse.Namespace, record: Record) -> Printed:
    what = " ".join(chosen.outcome)
    record.confirm(chosen.number, what, chosen.how, chosen.note)
    return f"Recorded of {chosen.number}: {what}.", {"number": chosen.number, "outcome": what}


def _export(chosen: argparse.Namespace, record: Record) -> Printed:
    record.export(chosen.target, names=not chosen.without_names)
    count = len(record.entries())
    return f"{count} entries: {chosen.target}", {"entries": count, "target": chosen.target}


def _check(chosen: argparse.Namespace, record: Record) -> Printed:
    from resinid.record.instruments import check_of

    kind, _, name = chosen.instrument.partition(":")
    made = check_of(kind.strip(), chosen.shows, chosen.true, name=name.strip())
    record.check(made)
    found = next(each for each in record.instruments() if (each.kind, each.name) == (made.instrument, made.name))
    return wrapped(found.describe(), "", ""), asdict(found)


def _learn(chosen: argparse.Namespace, record: Record) -> Printed:
    from resinid.report.text import columns, percent

    found, tools = record.prior(article=chosen.article, source=chosen.source), record.instruments()
    most = sorted(found.shares, key=lambda name: -found.shares[name])[:SHOWN]
    rows = [(name, percent(found.shares[name]), percent(found.published[name])) for name in most]
    lines = [wrapped(f"{found.describe()}.", "", ""), columns(("resin", "learned", "published"), rows, right=[1, 2])]
    lines += [wrapped(each.describe(), "", "  ") for each in tools]
    data = {
        "shares": dict(found.shares),
        "published": dict(found.published),
        "confirmed": found.confirmed,
        "weight": found.weight,
        "of": found.of,
        "instruments": [asdict(each) for each in tools],
    }
    return "\n\n".join(lines), data


def _checks(_: argparse.Namespace, record: Record) -> Printed:
    from resinid.report.text import columns, percent

    found = record.track_record()
    if not found.pieces:
        return "Nothing was found out of a piece with an answer; see 'resinid record confirm'.", found.to_dict()

    def table(head: str, shares: Iterable[tuple[str, Share]]) -> str:
        rows = [
            (f"{each.count:g} of {each.of}", f"{percent(each.low)} to {percent(each.high)}", said)
            for said, each in shares
        ]
        return columns(("cases", "95 % interval", head), rows)

    lines = [
        wrapped(
            f"{found.pieces} piece{' was' if found.pieces == 1 else 's were'} confirmed, {found.right.count:g} as the "
            f"resin named first. Calibration error {found.error:.3f} ({found.low:.3f} to {found.high:.3f}); "
            f"{found.by_chance:.3f} would be chance alone.",
            "",
            "",
        ),
        table("right, where the probability stated was about", ((f"{at:.2f}", each) for at, each in found.bins)),
        table("test that did not fit what was confirmed", ((each.what, each) for each in found.botched)),
        table("what became of it", ((each.what, each) for each in found.leave)),
    ]
    rows = [(str(each.count), each.said, each.was, each.test or "-") for each in found.confusions]
    lines += [columns(("pieces", "named", "was", "test that would have told"), rows, right=[0])] if rows else []
    return "\n\n".join(lines), found.to_dict()
