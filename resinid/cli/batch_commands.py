"""The commands for bags: batch, together, plan, stock."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from resinid.cli.document_files import naming, read_text
from resinid.cli.mould_options import add_mould, mould_of
from resinid.cli.record_command import add_record, noted, recording
from resinid.errors import Faults, InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from resinid.batches.bag import Batch
    from resinid.reference.table import ReferenceTable

    Printed = tuple[str, Any]
    Command = Callable[[str, str, Callable[[argparse.Namespace], Printed]], argparse.ArgumentParser]

__all__ = ["add_batch_commands"]


KEYS: Final = """\
A batch is a TOML or JSON document. Its keys: batch (name); [[piece]] with
[[piece.observation]], or all of a saved piece's document, or its name as file,
and alike = 8 where eight read the same; [[flakes]] with liquid, floated, sank,
and one sample for flakes floated again; [marked] with counts by resin; process
(injection moulding, blow moulding, extrusion, film, fibre, rotational moulding,
thermoforming, unknown); article (as for the test 'article'); mfr and
mfr_condition (190 C/2.16 kg); mass; holds (how many items, if all are known);
labels (none, paper, plastic, foil, shrink sleeve); wash (unwashed, washed,
washed and dried, unknown); melted_before (how often); remarks (black, white,
coloured, natural colour, food contact, electrical housing, building board,
flame retarded, halogen found, halogen-free); allow (dangers, such as burn);
[liquid] (named jugs); format."""


def add_batch_commands(
    command: Command, table_options: Callable[[argparse.ArgumentParser], None], table_of: Callable[..., ReferenceTable]
) -> None:
    """Add the commands to the parser."""

    def with_table(run_it: Callable[..., Printed]) -> Callable[[argparse.Namespace], Printed]:
        return lambda chosen: run_it(chosen, table_of(chosen))

    bag = command("batch", "What a bag consists of, and how pure it is.", with_table(_batch))
    bag.add_argument("file", help="TOML or JSON file of a batch, or - for standard input")
    bag.add_argument("--wanted", type=float, default=0.01, help="wanted limit of dangerous contaminants (default 0.01)")
    bag.add_argument("--same-as", metavar="FILE", help="a second batch, to weigh whether both are the same")
    bag.add_argument("--top", type=int, default=6, help="how many resins to print (default 6)")

    together = command("together", "Whether batches may be melted together.", with_table(_together))
    together.add_argument("file", nargs="+", help="two or more files of batches")

    plan = command("plan", "How to melt one batch, or several together, if that may be done.", with_table(_plan))
    plan.add_argument("file", nargs="+", help="one or more files of batches")
    add_mould(plan)

    stock = command("stock", "What becomes of every two batches of a stock.", with_table(_stock))
    stock.add_argument("file", help="CSV file of batches, or - for standard input")
    stock.add_argument("--csv", action="store_true", help="print the matrix as CSV")

    for added in (bag, together, plan, stock):
        added.epilog, added.formatter_class = f"{KEYS}\n\n{added.epilog}", argparse.RawDescriptionHelpFormatter
        added.add_argument("--prior", default="default", help="default, uniform, or a waste split of the table")
        table_options(added)
    for added in (bag, plan):
        add_record(added)
    for added in (bag, together, plan):
        added.add_argument("--full", action="store_true", help="print small chances of danger and all sources as well")
    for added in (together, plan):
        added.add_argument(
            "--shares", type=_share, nargs="+", help="mass shares, or masses such as '1.5 kg', one for each file"
        )
        added.add_argument("--compatibiliser", metavar="SHARE", help="what is kneaded in, such as '5 %% SEBS'")
    for added in (together, plan, stock):
        added.add_argument("--danger-limit", type=float, default=0.01, help="chance of danger borne (default 0.01)")


def _share(text: str) -> object:
    """Return a number, or the text of a mass."""
    try:
        return float(text)
    except ValueError:
        return text


def _read(file: str) -> Batch:
    from resinid.batches.bag import read_batch

    text = read_text(file)
    with naming(file):
        return (
            read_batch(text, "standard input", None)
            if file == "-"
            else read_batch(text, Path(file).stem, Path(file).parent)
        )


def _read_all(files: Sequence[str]) -> list[Batch]:
    """Return every batch, or the faults of all files."""
    faults, found = Faults(), []
    for file in files:
        try:
            found.append(_read(file))
        except InputError as error:
            faults.extend(error.faults)
    faults.check()
    return found


def _batch(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.batches.comparison import same_resin
    from resinid.batches.composition import batch_composition
    from resinid.report.bag_report import comparison_report, composition_report
    from resinid.report.text import text_of

    bag = _read(chosen.file)
    with naming(chosen.file), recording(chosen, reference) as record:
        found = batch_composition(bag, prior=chosen.prior, reference=reference, wanted=chosen.wanted)
        text, data = text_of(composition_report(found, chosen.top).parts, full=chosen.full), found.to_dict()
        if record is not None:
            text, data = noted(record, record.add_bag(bag, data, source=chosen.source), text, data)
    if chosen.same_as:
        same = same_resin(bag, _read(chosen.same_as), prior=chosen.prior, reference=reference)
        text, data = f"{text}\n\n{text_of(comparison_report(same).parts)}", {**data, "same": same.to_dict()}
    return text, data


def _together(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.batches.compatibility import melt_together
    from resinid.report.bag_report import compatibility_parts
    from resinid.report.text import text_of

    found = melt_together(
        *_read_all(chosen.file),
        shares=chosen.shares,
        compatibiliser=chosen.compatibiliser,
        danger_limit=chosen.danger_limit,
        prior=chosen.prior,
        reference=reference,
    )
    return text_of(compatibility_parts(found, full=chosen.full), full=chosen.full), found.to_dict()


def _plan(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.melting.plan import melt_plan
    from resinid.report.plan_report import plan_report
    from resinid.report.text import text_of

    bags = _read_all(chosen.file)
    with recording(chosen, reference) as record:
        found = melt_plan(
            *bags,
            shares=chosen.shares,
            compatibiliser=chosen.compatibiliser,
            danger_limit=chosen.danger_limit,
            prior=chosen.prior,
            reference=reference,
            **mould_of(chosen),
        )
        text, data = text_of(plan_report(found, full=chosen.full).parts, full=chosen.full), found.to_dict()
        if record is not None:
            text, data = noted(record, record.add_plan(found, *bags, source=chosen.source), text, data)
    return text, data


def _stock(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.batches.stock import read_stock, stock_matrix
    from resinid.report.bag_report import stock_text

    named = "standard input" if chosen.file == "-" else Path(chosen.file).name
    folder = None if chosen.file == "-" else Path(chosen.file).parent
    batches = read_stock(read_text(chosen.file), folder, named, reference)
    found = stock_matrix(batches, danger_limit=chosen.danger_limit, prior=chosen.prior, reference=reference)
    return found.to_csv().rstrip("\n") if chosen.csv else stock_text(found), found.to_dict()
