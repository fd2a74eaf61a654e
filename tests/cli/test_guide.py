"""The guide says what is so: its examples run, and every key of every document is in it."""

from __future__ import annotations

import doctest
import shlex
from pathlib import Path

import pytest

import resinid.guide
from resinid.batches.bag import KEYS as BAG_KEYS
from resinid.cli.guide_command import EXAMPLES
from resinid.cli.main import _parser, main
from resinid.guide import TOPICS, page
from resinid.io.document import KEYS
from resinid.tables.answer import TOLD

FOLDER = Path(resinid.guide.__file__).parent


@pytest.mark.parametrize("topic", TOPICS)
def test_the_examples_of_a_page_run(topic: str) -> None:
    failed, tried = doctest.testfile(str(FOLDER / f"{topic}.md"), module_relative=False, encoding="utf-8")
    assert failed == 0
    assert tried > 0
    assert max(len(line) for line in page(topic).splitlines() if not line.startswith("|")) <= 140
    assert len(page(topic).splitlines()) < 90


def test_every_key_of_every_document_is_in_the_guide() -> None:
    for topic, keys in (("piece", KEYS), ("bag", BAG_KEYS), ("table", TOLD)):
        for key in keys:
            assert key in page(topic), (topic, key)
    assert {file.stem for file in FOLDER.glob("*.md")} == set(TOPICS)


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
