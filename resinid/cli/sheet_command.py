"""The command that writes a bench sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from resinid.cli.document_files import file_to_write, naming, prior_of_document, read_text, write_whole
from resinid.cli.options import add_trust

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
    sheet = command("sheet", "One page of HTML to print: answer, evidence, cautions, what next.", _sheet(table_of))
    sheet.add_argument("file", help="TOML or JSON file of observations, or - for standard input")
    sheet.add_argument("-o", "--output", metavar="FILE", help="HTML file to write; printed where not given, or -")
    sheet.add_argument("--have", dest="bench", help="what is at hand for the next test, as for 'next'")
    sheet.add_argument(
        "--allow", action="append", default=[], metavar="DANGER", help="allow tests with that danger, such as burn"
    )
    add_trust(sheet)
    sheet.add_argument("--prior", help="default, uniform, or a waste or production split of the table")
    table_options(sheet)


def _sheet(table_of: Callable[..., ReferenceTable]) -> Callable[[argparse.Namespace], Printed]:
    def run(chosen: argparse.Namespace) -> Printed:
        from dataclasses import replace

        from resinid.io.document import read_document
        from resinid.planning.next_test import next_tests
        from resinid.report.sheet import bench_sheet

        output = None if chosen.output in {None, "-"} else file_to_write(chosen.output, "--output", chosen.file)
        text, reference = read_text(chosen.file), table_of(chosen)
        with naming(chosen.file):
            document = read_document(text)
            with prior_of_document(chosen.prior, document.prior, reference) as prior:
                advice = next_tests(
                    document.observations,
                    bench=chosen.bench,
                    allow=(*document.allow, *chosen.allow),
                    prior=prior,
                    reference=reference,
                    trusted=chosen.trust,
                )
        piece = document.piece or ("" if chosen.file == "-" else Path(chosen.file).stem)
        result = replace(advice.result, piece=piece)
        page = bench_sheet(replace(advice, result=result), reference=reference)
        data = {"file": None if output is None else chosen.output, "result": result.to_dict()}
        if output is None:
            return page.rstrip("\n"), {**data, "html": page}
        write_whole(output, page)
        said = f"{result.leader} {result.probability[0]:.1%}; heating: {result.heat.headline}"
        return f"{chosen.output}: one page to print. {said}", data

    return run
