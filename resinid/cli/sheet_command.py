"""The command that writes a bench sheet."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from resinid.cli.document_files import file_to_write, naming, prior_of_document, read_text, write_whole
from resinid.cli.mould_options import add_mould, mould_of
from resinid.cli.options import add_trust
from resinid.errors import Fault, InputError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from resinid.reference.table import ReferenceTable

    Printed = tuple[str, Any]
    Command = Callable[[str, str, Callable[[argparse.Namespace], Printed]], argparse.ArgumentParser]

__all__ = ["add_sheet_command"]


def add_sheet_command(
    command: Command, table_options: Callable[[argparse.ArgumentParser], None], table_of: Callable[..., ReferenceTable]
) -> None:
    """Add the command to the parser."""
    sheet = command("sheet", "One page of HTML to print: of a piece, or of a bag the melt plan.", _sheet(table_of))
    sheet.add_argument("file", help="TOML or JSON file of a piece or of a bag, or - for standard input")
    sheet.add_argument("-o", "--output", metavar="FILE", help="HTML file to write; printed where not given, or -")
    sheet.add_argument("--label", action="store_true", help="instead a label for a bin, or of a bag's file for the bag")
    sheet.add_argument("--lot", default="", help="what the page gives as the lot")
    sheet.add_argument("--date", help="date on the page, such as 2026-11-30 (default today)")
    sheet.add_argument("--have", dest="bench", help="what is at hand for the next test, as for 'next'")
    sheet.add_argument(
        "--allow", action="append", default=[], metavar="DANGER", help="allow tests with that danger, such as burn"
    )
    add_mould(sheet)
    add_trust(sheet)
    sheet.add_argument("--prior", help="default, uniform, or a waste or production split of the table")
    table_options(sheet)


def _sheet(table_of: Callable[..., ReferenceTable]) -> Callable[[argparse.Namespace], Printed]:
    def run(chosen: argparse.Namespace) -> Printed:
        from dataclasses import replace

        from resinid.io.document import is_bag, parsed, read_document
        from resinid.planning.next_test import next_tests
        from resinid.report.sheet import bench_sheet

        output = None if chosen.output in {None, "-"} else file_to_write(chosen.output, "--output", chosen.file)
        text, reference = read_text(chosen.file), table_of(chosen)
        if chosen.label:
            on = _date(chosen.date)
            with naming(chosen.file):
                page, said, data = _label(chosen, text, reference, on)
            return _written(output, page, f"a label to print; {said}", data)
        with naming(chosen.file):
            if is_bag(parsed(text)):
                page, said, data = _bag_sheet(chosen, text, reference)
                return _written(output, page, said, data)
            document = read_document(text)
            with prior_of_document(chosen.prior, document.prior, reference) as prior:
                advice = next_tests(
                    document.observations,
                    bench=chosen.bench,
                    question="heat",
                    allow=(*document.allow, *chosen.allow),
                    prior=prior,
                    reference=reference,
                    trusted=chosen.trust,
                )
        piece = document.piece or ("" if chosen.file == "-" else Path(chosen.file).stem)
        result = replace(advice.result, piece=piece)
        page = bench_sheet(replace(advice, result=result), reference=reference)
        said = f"one page to print; heating: {result.heat.headline}; {result.headline}"
        return _written(output, page, said, {"result": result.to_dict()})

    return run


def _written(output: Path | None, page: str, said: str, data: dict[str, Any]) -> Printed:
    """Write a page where a file was named, else give it back whole."""
    if output is None:
        return page.rstrip("\n"), {"file": None, **data, "html": page}
    write_whole(output, page)
    return f"{output}: {said}", {"file": str(output), **data}


def _bag_sheet(chosen: argparse.Namespace, text: str, reference: ReferenceTable) -> tuple[str, str, dict[str, Any]]:
    """Return the melt plan of a bag's document as a page to fill in, what it says in short, and as JSON types."""
    from resinid.batches.bag import read_batch
    from resinid.melting.plan import melt_plan
    from resinid.report.plan_report import plan_sheet

    name = "bag" if chosen.file == "-" else Path(chosen.file).stem
    bag = read_batch(text, name)
    plan = melt_plan(bag, prior=chosen.prior or "default", reference=reference, **mould_of(chosen))
    page = plan_sheet(plan, lot=chosen.lot, date="" if chosen.date is None else _date(chosen.date))
    return page, f"one page to print and fill in; {bag.name}: {plan.verdict.verdict}", {"plan": plan.to_dict()}


def _label(
    chosen: argparse.Namespace, text: str, reference: ReferenceTable, on: str
) -> tuple[str, str, dict[str, Any]]:
    """Return the label of a piece's or a bag's document, what it says in short, and the answer as JSON types."""
    from resinid.batches.bag import read_batch
    from resinid.batches.composition import batch_composition
    from resinid.identification.identify import identify
    from resinid.io.document import is_bag, parsed, read_document
    from resinid.melting.plan import melt_plan
    from resinid.report.label import bag_label, piece_label

    name = "" if chosen.file == "-" else Path(chosen.file).stem
    if is_bag(parsed(text)):
        bag, prior = read_batch(text, name or "bag"), chosen.prior or "default"
        found = batch_composition(bag, prior=prior, reference=reference)
        plan = melt_plan(bag, prior=prior, reference=reference)
        page = bag_label(found, plan, lot=chosen.lot, date=on, reference=reference)
        return page, f"{found.batch}: {plan.verdict.verdict}", {"composition": found.to_dict(), "plan": plan.to_dict()}
    document = read_document(text)
    with prior_of_document(chosen.prior, document.prior, reference) as prior_:
        result = identify(
            document.observations,
            piece=document.piece or name,
            prior=prior_,
            reference=reference,
            allow=(*document.allow, *chosen.allow),
            trusted=chosen.trust,
        )
    page = piece_label(result, lot=chosen.lot, date=on, reference=reference)
    return page, f"heating: {result.heat.headline}; {result.headline}", {"result": result.to_dict()}


def _date(given: str | None) -> str:
    """Return a date as the international standard writes it, today's where none is given."""
    try:
        return (datetime.now().astimezone().date() if given is None else date.fromisoformat(given)).isoformat()
    except ValueError as error:
        raise InputError([Fault("--date", f"{given!r:.40} is no date; write for example 2026-11-30")]) from error
