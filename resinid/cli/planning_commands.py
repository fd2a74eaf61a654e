"""The commands that say what to do next: next, recipe, ladder, bench."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from resinid.cli.document_files import naming, prior_of_document, read_text
from resinid.cli.options import add_trust, with_unit
from resinid.cli.record_command import add_record

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from resinid.reference.table import ReferenceTable

    Printed = tuple[str, Any]
    Command = Callable[[str, str, Callable[[argparse.Namespace], Printed]], argparse.ArgumentParser]

__all__ = ["add_commands"]


HAVE: Final = (
    "what is at hand, separated by commas: reagents ('table salt', 'ethanol 96 %%v/v'), 'scale 0.1 g', "
    "'cylinder 1 mL', sinker, strip, 'hot plate 250 degC', 'bath 18 degC' (their temperature), 'piece 5 mL' "
    "(its size), jugs that stand ready ('jug ethanol 40 %%v/v', 'jug 1.071 g/cm3'), kitchen oils "
    "('sunflower oil'), and tools of methods, such as acetone"
)
"""What may be at hand; a doubled per cent sign is argparse's."""


def add_commands(
    command: Command, table_options: Callable[[argparse.ArgumentParser], None], table_of: Callable[..., ReferenceTable]
) -> None:
    """Add the commands to the parser."""

    def with_table(run_it: Callable[..., Printed]) -> Callable[[argparse.Namespace], Printed]:
        return lambda chosen: run_it(chosen, table_of(chosen))

    todo = command("next", "Rank the tests to do next by what they tell, or say to stop.", with_table(_next))
    todo.add_argument("file", nargs="?", help="TOML or JSON file of observations, or -; none for an untested piece")
    _planning_options(todo)
    todo.add_argument("--full", action="store_true", help="say of each test that is not offered why")
    todo.add_argument("--by", default="bits per minute", help="'bits per minute' (default) or 'bits'")
    todo.add_argument("--top", type=int, default=5, help="how many tests to print (default 5)")
    table_options(todo)

    made = command("recipe", "What to mix for a bath of a wanted density.", _recipe)
    made.add_argument("density", help="wanted density [g/cm3], such as 1.070")
    made.add_argument("solute", nargs="+", help="what to mix into water, such as table salt, or ethanol 96 %%v/v")
    made.add_argument("--volume", default="250 mL", help="of the bath [mL] (default 250), or in the jug to correct")
    made.add_argument("--temperature", default="20 ± 2 degC", help="of the bath [degC] (default '20 ± 2')")
    made.add_argument("--measured", help="density the jug has [g/cm3], for what to add to it")
    made.add_argument("--scale", default="0.1 g", help="step of the scale [g] (default 0.1), or none: then by volume")
    made.add_argument("--cylinder", help="division of a graduated cylinder [mL]; none (default): a kitchen jug")
    made.add_argument(
        "--allow", action="append", default=[], help="'flammable bath' to get more than 500 mL that can be lit"
    )

    rungs = command("ladder", "The baths that best sort some resins.", with_table(_ladder))
    rungs.add_argument("resin", nargs="+", help="two or more resins")
    rungs.add_argument("--have", dest="bench", help="what baths can be mixed from, separated by commas")
    rungs.add_argument("--steps", type=int, default=8, help="how many baths at most (default 8)")
    rungs.add_argument("--allow", action="append", default=[], help="'flammable bath' to get warm ones that can be lit")
    table_options(rungs)

    guided = command("bench", "Be led through the bench, test by test.", with_table(_bench))
    guided.add_argument("--save", metavar="FILE", help="TOML file to save each answer to, and to resume from")
    guided.add_argument("--piece", default="", help="what to call the piece")
    guided.add_argument("--full", action="store_true", help="say at once what is not offered and why, at the end all")
    _planning_options(guided)
    add_record(guided, learns=True)
    table_options(guided)


def _planning_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--have", dest="bench", help=HAVE)
    parser.add_argument("--question", help="heat (default), resin, 'melt group', pvc, or 'soft=EVA TPU; hard=PC PA6'")
    parser.add_argument("--enough", type=float, help="probability at which an answer is settled (default 0.9)")
    parser.add_argument(
        "--allow", action="append", default=[], help="a danger to allow, such as 'hot plate'; may be repeated"
    )
    add_trust(parser)
    parser.add_argument("--without", action="append", default=[], help="a test that cannot be done; may be repeated")
    parser.add_argument("--prior", help="default, uniform, or a waste or production split of the table")


def _next(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.io.document import read_document
    from resinid.methods.bench import Bench
    from resinid.methods.bench_parser import parse_bench
    from resinid.planning.names import check_tests
    from resinid.planning.next_test import next_tests
    from resinid.planning.question import parse_question
    from resinid.report.advice_report import advice_report
    from resinid.report.text import text_of

    if chosen.without:
        check_tests(chosen.without, Bench() if chosen.bench is None else parse_bench(chosen.bench))
    file = chosen.file or "options"
    with naming(file):
        document = read_document(read_text(chosen.file)) if chosen.file else None
        with prior_of_document(chosen.prior, document.prior if document else "default", reference) as prior:
            advice = next_tests(
                document.observations if document else (),
                bench=chosen.bench,
                question=parse_question(chosen.question),
                enough=chosen.enough,
                allow=(*(document.allow if document else ()), *chosen.allow),
                without=chosen.without,
                by=chosen.by,
                trusted=chosen.trust,
                prior=prior,
                reference=reference,
            )
    return text_of(advice_report(advice, chosen.top).parts, full=chosen.full), advice.to_dict()


def _recipe(chosen: argparse.Namespace) -> Printed:
    from resinid.planning.recipes import correct_bath, mix_bath
    from resinid.report.bath_report import correction_report, recipe_report
    from resinid.report.text import text_of

    solute = " ".join(chosen.solute)
    density, volume = with_unit(chosen.density, "density"), with_unit(chosen.volume, "volume")
    options = {
        "temperature": with_unit(chosen.temperature, "temperature"),
        "allow": chosen.allow,
        "scale": None if chosen.scale == "none" else with_unit(chosen.scale, "mass"),
        "cylinder": None if chosen.cylinder in {None, "none"} else with_unit(chosen.cylinder, "volume"),
    }
    if chosen.measured:
        found = correct_bath(with_unit(chosen.measured, "density"), volume, density, solute, **options)
        return text_of(correction_report(found).parts), found.to_dict()
    made = mix_bath(density, volume, solute, **options)
    return text_of(recipe_report(made).parts), made.to_dict()


def _ladder(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.planning.ladder import ladder
    from resinid.report.bath_report import ladder_report
    from resinid.report.text import text_of

    found = ladder(chosen.resin, bench=chosen.bench, steps=chosen.steps, reference=reference, allow=chosen.allow)
    return text_of(ladder_report(found).parts), found.to_dict()


def _bench(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.cli.guided_bench import guided

    return guided(chosen, reference)
