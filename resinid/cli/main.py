"""``resinid`` on the command line, the same as ``python -m resinid``.

Exit codes: 0, answered; 2, bad input or usage, with one message that lists every
fault, or no room for the answer; 130, interrupted.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NoReturn

from resinid.cli.batch_commands import add_batch_commands
from resinid.cli.document_files import naming, prior_of_document, read_text
from resinid.cli.guide_command import EXAMPLES, add_guide_command
from resinid.cli.options import add_trust
from resinid.cli.planning_commands import add_commands
from resinid.cli.record_command import add_record, add_record_command, learned_of, noted, recording
from resinid.cli.rows_command import add_bulk_command
from resinid.cli.screen import complain, put, steady, takes_any_letter
from resinid.cli.sheet_command import add_sheet_command
from resinid.errors import ResinidError
from resinid.report.text import clean
from resinid.version import __version__

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from resinid.identification.result import Result
    from resinid.reference.table import ReferenceTable

__all__ = ["main", "run"]

BAD_INPUT: Final = 2
INTERRUPTED: Final = 130

EPILOG: Final = (
    "'resinid guide' explains; 'resinid methods' lists each test and the words of its outcomes; COMMAND --help tells "
    "of one command. Exit codes: 0, answered; 2, bad input or usage, with one message that lists every fault, or no "
    "room for the answer; 130, interrupted."
)

Printed = tuple[str, Any]
"""What a command gives back: text for people, and JSON types for scripts."""


def run() -> None:
    """Run the command line and leave with its exit code."""
    steady()
    sys.exit(main(sys.argv[1:]))


def main(arguments: Sequence[str]) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str
        Without the program's name.

    Returns
    -------
    int
        Exit code.
    """
    if sys.stdout is None:
        print("resinid: the answer cannot be written: standard output is closed", file=sys.stderr)
        return BAD_INPUT
    parser, commands = _parser()
    if arguments and not arguments[0].startswith("-") and arguments[0] not in commands:
        from resinid.io.close_words import did_you_mean

        said = f"no command is called {arguments[0]!r:.100}{did_you_mean(arguments[0], commands)}"
        parser.error(f"{said}; there are {', '.join(commands)}")
    chosen = parser.parse_args(arguments)
    try:
        if chosen.json:
            # What a plug-in prints must not come into the JSON.
            out, letters = sys.stdout, takes_any_letter()
            with contextlib.redirect_stdout(sys.stderr):
                _, data = chosen.command(chosen)
                print(json.dumps(data, ensure_ascii=not letters, indent=2, allow_nan=False), file=out)
        else:
            put(chosen.command(chosen)[0])
        sys.stdout.flush()
    except ResinidError as error:
        complain(f"resinid: {_indented(str(error))}")
        return BAD_INPUT
    except BrokenPipeError:
        _silence()
    except OSError as error:
        # Files name their own faults, so this is standard output: a full disk, say.
        complain(f"resinid: the answer cannot be written: {error.strerror or error}")
        _silence()
        return BAD_INPUT
    except MemoryError:
        complain("resinid: this needs more memory than there is; give less at a time")
        return BAD_INPUT
    except KeyboardInterrupt:
        return INTERRUPTED
    return 0


def _silence() -> None:
    """Let nothing more be written to standard output, not even at exit: nobody would get it."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _indented(message: str) -> str:
    lines = message.splitlines()
    if len(lines) == 1:
        return message
    return f"{len(lines)} faults\n" + "\n".join(f"  {line}" for line in lines)


class _Parser(argparse.ArgumentParser):
    """A parser that repeats what was typed without what could steer a terminal; those of commands are of its kind."""

    def error(self, message: str) -> NoReturn:
        super().error(clean(message))


def _parser() -> tuple[argparse.ArgumentParser, tuple[str, ...]]:
    """Return the parser and the names of its commands."""
    parser = _Parser(prog="resinid", description="Rank which resin a piece of scrap plastic is.", epilog=EPILOG)
    parser.add_argument("--version", action="version", version=f"resinid {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    def command(name: str, does: str, run_it: Callable[[argparse.Namespace], Printed]) -> argparse.ArgumentParser:
        example = f"Example: {EXAMPLES[name]}"
        added = commands.add_parser(name, help=does, description=does.replace("%%", "%"), epilog=example)
        added.add_argument("--json", action="store_true", help="print JSON for scripts")
        added.set_defaults(command=run_it)
        return added

    identify = command("identify", "Rank the resins a piece may be.", _identify)
    identify.add_argument("file", help="TOML or JSON file of observations, or - for standard input")
    identify.add_argument("--prior", help="default, uniform, or a waste or production split of the table")
    identify.add_argument(
        "--allow", action="append", default=[], metavar="DANGER", help="allow tests with that danger, such as burn"
    )
    add_trust(identify)
    identify.add_argument("--have", dest="bench", help="what the tests that would settle it may need, as for 'next'")
    identify.add_argument("--full", action="store_true", help="print each test, what it told, and the sources as well")
    identify.add_argument("--top", type=int, default=8, help="how many resins to print (default 8)")
    add_record(identify, learns=True)
    _table_options(identify)
    liquid = command("liquid", "Density of a liquid, such as 'ethanol 40 %%v/v at 22 degC'.", _liquid)
    liquid.add_argument("liquid", nargs="+", help="the liquid as one or more words")
    command("methods", "List the methods, their tests, the words of outcomes, and cautions.", _methods)
    for name, does, run_it in (
        ("resins", "List the resins of the table.", _resins),
        ("sources", "List the sources of the table and of the methods.", _sources),
    ):
        _table_options(command(name, does, run_it))
    report = command("table", "Report how well each cell of the table is sourced.", _report)
    report.add_argument(
        "--sensitivity", action="store_true", help="instead list the rows that move typical answers most (some seconds)"
    )
    _table_options(report)
    add_commands(command, _table_options, _table)
    add_bulk_command(command, _table_options, _table)
    add_batch_commands(command, _table_options, _table)
    add_sheet_command(command, _table_options, _table)
    add_record_command(command, _table_options, _table)
    add_guide_command(command)
    return parser, tuple(commands.choices)


def _table_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--table", dest="reference", metavar="FOLDER", help="use a table of your own instead")
    parser.add_argument("--extend", metavar="FOLDER", help="add a folder's files to the table")


def _table(chosen: argparse.Namespace) -> ReferenceTable:
    from resinid.reference.table import default_reference, load_reference

    reference = load_reference(chosen.reference) if chosen.reference else default_reference()
    return reference.extended(chosen.extend) if chosen.extend else reference


def _identify(chosen: argparse.Namespace) -> Printed:
    from resinid.identification.identify import identify
    from resinid.io.document import read_document
    from resinid.report.piece_report import result_text, short_text

    text = read_text(chosen.file)
    with naming(chosen.file):
        document = read_document(text)
        reference = _table(chosen)
        with (
            prior_of_document(chosen.prior, document.prior, reference) as prior,
            recording(chosen, reference) as record,
        ):
            learned = learned_of(record, chosen, prior)
            result = identify(
                document.observations,
                piece=document.piece or ("" if chosen.file == "-" else Path(chosen.file).stem),
                prior=learned.shares if learned else prior,
                reference=reference,
                allow=(*document.allow, *chosen.allow),
                trusted=chosen.trust,
            )
            if learned:
                result = learned.judged(result, reference=reference, trusted=chosen.trust)
            if not result.heat.allowed:
                result = _with_remedy(result, chosen, reference, prior, (*document.allow, *chosen.allow))
            text = result_text(result, reference, chosen.top) if chosen.full else short_text(result, reference)
            data = result.to_dict()
            if record is not None:
                number = record.add_result(
                    result, learned=learned is not None, article=chosen.article, source=chosen.source
                )
                text, data = noted(record, number, text, data, learned)
    return text, data


def _with_remedy(
    result: Result,
    chosen: argparse.Namespace,
    reference: ReferenceTable,
    prior: str | Mapping[str, float],
    allow: tuple[str, ...],
) -> Result:
    """Return an answer with the tests at hand that would most likely settle whether the piece may be heated."""
    from resinid.planning.next_test import next_tests

    advice = next_tests(
        result.observations,
        bench=chosen.bench,
        question="heat",
        allow=allow,
        prior=prior,
        reference=reference,
        trusted=chosen.trust,
    )
    return replace(result, heat=replace(result.heat, settled_by=advice.result.heat.settled_by))


def _liquid(chosen: argparse.Namespace) -> Printed:
    from resinid.io.liquid_parser import parse_liquid
    from resinid.report.bath_report import liquid_report
    from resinid.report.text import text_of

    found = parse_liquid(" ".join(chosen.liquid))
    data = {
        "density": {"value": found.density, "u": found.u, "unit": "g/cm3"},
        "temperature": {"value": found.temperature, "unit": "degC"},
        "label": found.label,
        "how": found.how,
        "flash_point": found.flash,
        "caution": found.caution,
        "sources": list(found.sources),
    }
    return text_of(liquid_report(found).parts), data


def _methods(chosen: argparse.Namespace) -> Printed:  # noqa: ARG001 - because all commands are called alike
    from resinid.methods.registry import listed
    from resinid.report.lists import methods_text

    found = listed()
    return methods_text(found), [entry.to_dict() for entry in found]


def _resins(chosen: argparse.Namespace) -> Printed:
    from resinid.report.text import columns

    reference = _table(chosen)
    rows = [
        (r.symbol, r.group, r.kind, r.name + (f" (also {', '.join(r.aliases)})" if r.aliases else ""))
        for r in reference.resins
    ]
    data = [
        {"resin": r.symbol, "name": r.name, "group": r.group, "kind": r.kind, "aliases": list(r.aliases)}
        for r in reference.resins
    ]
    return columns(("resin", "group", "kind", "name"), rows), data


def _sources(chosen: argparse.Namespace) -> Printed:
    from resinid.analysis.method_sources import sources_brought
    from resinid.report.lists import sources_text

    sources = (*_table(chosen).sources, *sources_brought())
    data = [
        {"key": s.key, "citation": s.citation, "year": s.year, "kind": s.kind, "url": s.url, "read": s.read}
        for s in sources
    ]
    return sources_text(sources), data


def _report(chosen: argparse.Namespace) -> Printed:
    from resinid.analysis.method_sources import shares_brought
    from resinid.analysis.table_report import report_data, report_text, share_data, share_lines

    reference = _table(chosen)
    if chosen.sensitivity:
        from resinid.analysis.sensitivity import sensitivity_data, sensitivity_text, strongest

        rows = strongest(reference)
        return sensitivity_text(rows), sensitivity_data(rows)
    brought = shares_brought(reference)
    text = [
        report_text(reference),
        "\nRows that methods bring along, by the same columns as the shares above",
        *share_lines(brought),
    ]
    return "\n".join(text), report_data(reference) | {
        "methods": {name: share_data(share) for name, share in brought.items()}
    }
