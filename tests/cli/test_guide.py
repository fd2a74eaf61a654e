"""The guide says what is so: its examples run, and every key of every document is in it."""

from __future__ import annotations

import doctest
import inspect
import re
import shlex
import tomllib
from pathlib import Path

import pytest

import resinid
import resinid.guide
from resinid.batches.bag import KEYS as BAG_KEYS
from resinid.batches.bag import PIECE_KEYS, read_batch
from resinid.batches.bag_entries import LABELS, PROCESSES, REMARKS, WASHES, Flakes
from resinid.batches.compatibility import melt_together
from resinid.batches.stock import COLUMNS
from resinid.cli.guide_command import EXAMPLES
from resinid.cli.main import _parser, main
from resinid.guide import TOPICS, page
from resinid.identification.identify import identify
from resinid.io.document import KEYS, read_document
from resinid.io.fields import field_rules
from resinid.io.liquid_parser import _WAYS, parse_liquid
from resinid.melting.charge import FORMS
from resinid.melting.given import HEATERS
from resinid.melting.own_tables import walls
from resinid.melting.plan import melt_plan
from resinid.methods.bench_parser import parse_bench
from resinid.methods.dangers import DANGERS
from resinid.methods.registry import built_in
from resinid.planning.question import QUESTIONS
from resinid.tables.answer import TOLD

FOLDER = Path(resinid.guide.__file__).parent


@pytest.mark.parametrize("topic", TOPICS)
def test_the_examples_of_a_page_run(topic: str) -> None:
    failed, tried = doctest.testfile(str(FOLDER / f"{topic}.md"), module_relative=False, encoding="utf-8")
    assert failed == 0
    assert tried > 0
    assert max(len(line) for line in page(topic).splitlines() if not line.startswith("|")) <= 140
    assert len(page(topic).splitlines()) < 90


def documents(topic: str) -> list[str]:
    """Return the documents that a page shows."""
    return re.findall(r"```toml\n(.*?)```", page(topic), re.DOTALL)


def keys_within(data: object) -> set[str]:
    """Return the keys of a document, and of what is in it."""
    inner = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
    return {*(data if isinstance(data, dict) else ()), *(key for each in inner for key in keys_within(each))}


def marked(text: str) -> set[str]:
    """Return what stands between backticks."""
    return set(re.findall(r"`([^`]+)`", re.sub(r"```.*?```", "", text, flags=re.DOTALL)))


def table(topic: str, head: str) -> list[list[str]]:
    """Return the cells of the table of a page whose first header is ``head``."""
    lines = page(topic).partition(f"| {head} |")[2].partition("\n\n")[0].splitlines()[2:]
    return [line.strip("| ").split(" | ") for line in lines]


def test_every_key_of_every_document_is_in_the_guide() -> None:
    """A key that a reader takes has a line; in documents shown, in a table, or between backticks."""
    for topic, keys in (
        ("piece", (*KEYS, "value", "u", "unit")),
        ("bag", (*BAG_KEYS, *PIECE_KEYS, *field_rules(Flakes))),
        ("plan", COLUMNS),
        ("table", TOLD),
    ):
        shown = marked(page(topic)) | {key for text in documents(topic) for key in keys_within(tomllib.loads(text))}
        assert set(keys) - shown == set(), topic
    for word in (*PROCESSES, *REMARKS, *LABELS, *WASHES):
        assert re.search(rf"\b{word}\b", page("bag")), word
    assert {name for row in table("plan", "column") for name in marked(row[0])} == set(COLUMNS)
    assert {file.stem for file in FOLDER.glob("*.md")} == set(TOPICS)


def test_every_reading_of_every_test_is_in_the_guide() -> None:
    """Each field that a test takes stands in its line, or in the table of what some take more, and no other there."""
    lines = {name: marked(row[1]) for row in table("tests", "test") for name in marked(row[0])}
    more = {name: marked(row[1]) for row in table("tests", "key") for name in marked(row[0])}
    fields = {test.test: set(field_rules(test)) for method in built_in() for test in method.tests}
    assert set(lines) == set(fields)
    for test, keys in fields.items():
        also = {key for key, tests in more.items() if test in tests}
        assert keys - also <= lines[test], test
        assert also <= keys, test


def test_every_way_to_state_a_liquid_is_in_the_guide() -> None:
    rows = table("tests", "has")
    assert {(*marked(row[0]), *sorted(marked(row[1]))) for row in rows} == {
        (key, *sorted(set(allowed) - {key})) for key, _, allowed in _WAYS
    }
    for row in rows:
        assert parse_liquid(tomllib.loads(f"jug = {row[2].strip('`')}")["jug"]).density > 0.9


def test_what_a_program_asks_and_gets_is_in_the_guide() -> None:
    answer = identify([{"test": "float", "liquid": "water", "outcome": "floats"}]).to_dict()
    assert {key for row in table("embed", "key") for key in marked(row[0])} == set(answer)
    rows = {key: marked(row[1]) for row in table("embed", "key") for key in marked(row[0])}
    assert rows["heat"] == set(answer["heat"])
    assert rows["ranking"] == set(answer["ranking"][0])
    asked = {key: row[1] for row in table("embed", "argument") for key in marked(row[0])}
    assert set(DANGERS) == marked(asked["allow"])
    assert set(QUESTIONS) < marked(asked["question"])
    named = {name: getattr(resinid, name) for name in resinid.__all__ if name.endswith("Error")}
    errors = {name: error for name, error in named.items() if issubclass(error, Exception)}
    told = {name: marked(row[1]) for row in table("embed", "error") for name in marked(row[0])}
    assert set(errors) == {*told, "ResinidError", "PlugInError"}
    for name, kinds in told.items():
        assert kinds <= {base.__name__ for base in errors[name].__mro__}


def test_what_a_bench_and_a_mould_are_given_is_in_the_guide() -> None:
    for row in table("next", "write"):
        for item in marked(row[0]):
            parse_bench(item)
    assert marked(table("next", "write")[-1][0]) == {tool for method in built_in() for tool in method.tools}
    options = set(inspect.signature(melt_plan).parameters) - {"batches", *inspect.signature(melt_together).parameters}
    assert {key for row in table("plan", "argument") for key in marked(row[0])} == {*options, "shares"}
    for words in (HEATERS, FORMS, walls()):
        for word in words:
            assert re.search(rf"\b{word}\b", page("plan")), word


def test_the_documents_of_the_guide_are_read() -> None:
    (piece,), (bag,) = documents("piece"), documents("bag")
    seen = read_document(piece)
    assert identify(seen.observations, prior=seen.prior, allow=seen.allow).leader == "PE-HD"
    assert read_batch(bag).items == 118


def test_each_help_ends_with_an_example_that_is_understood() -> None:
    parser, names = _parser()
    assert set(names) == set(EXAMPLES)
    for name, example in EXAMPLES.items():
        words = shlex.split(example)
        assert words[:2] == ["resinid", name]
        parser.parse_args(words[1:])


def test_the_command_lists_topics_and_shows_a_page(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["guide"]) == 0
    assert "plug-in" in capsys.readouterr().out
    assert main(["guide", "safety"]) == 0
    assert capsys.readouterr().out.startswith("# Safety")
