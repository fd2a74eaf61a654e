"""Shapes: no test is offered that the article cannot bear, and a film's limpness tells nothing of its resin."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from resinid import MethodError, identify, identify_table, next_tests, observe
from resinid.batches.bag import Batch
from resinid.cli.main import main
from resinid.methods.bench import Bench
from resinid.methods.offered import plans_of
from resinid.methods.registry import built_in
from resinid.methods.shapes import SHAPES, as_shaped, shapes_lacked, suited
from resinid.methods.word_test import WordTest, word_test

if TYPE_CHECKING:
    from pathlib import Path

FILM = {"test": "article", "outcome": "film or bag"}
LIMP = {"test": "feel", "outcome": "limp"}
TOOLS = tuple(tool for method in built_in() for tool in method.tools)
EVERY = Bench(tools=TOOLS)


def offered(test: str, outcome: str) -> set[str]:
    return {plan.test for plan in suited(plans_of(EVERY), [observe(test, outcome=outcome)])}


def test_shapes_are_known() -> None:
    """What plans need and articles lack are words of one list; what is needed by some is lacked by some."""
    needed = {shape for plan in plans_of(EVERY) for shape in plan.needs_shape}
    words = [test for method in built_in() for test in method.tests if issubclass(test, WordTest)]
    lacked = {shape for test in words for word in test.words() for shape in test(word).lacks_shape()}
    assert needed == lacked == set(SHAPES)


@pytest.mark.parametrize(("test", "outcome"), [("article", "screw cap"), ("article", "connector or switch")])
def test_small_parts_are_not_asked_for_strips(test: str, outcome: str) -> None:
    """A cap has no strip 60 mm long or 2 to 3 mm thick; it can be floated, folded and dropped."""
    found = offered(test, outcome)
    assert not found & {"cantilever_bend", "feel", "shore_d", "shore_a"}
    assert found >= {"float", "weighing", "snap", "whitening", "drop_sound", "surface_feel", "spring_back", "hot_plate"}


def test_what_films_fibres_and_foams_are_asked() -> None:
    solid = {"feel", "cantilever_bend", "snap", "whitening", "drop_sound", "transparency", "cut_face", "shore_d"}
    for test, outcome in (("article", "film or bag"), ("process", "film"), ("article", "rope or fibre")):
        assert not offered(test, outcome) & solid
        assert offered(test, outcome) >= {"float", "spring_back", "surface_feel", "hot_plate"}
    foam = offered("article", "foam sheet or cushion")
    assert not foam & {"drop_sound", "transparency", "whitening", "shore_d", "scratch_fingernail"}
    assert foam >= {"feel", "snap", "cut_face", "spring_back"}
    assert offered("article", "pipe") == {plan.test for plan in plans_of(EVERY)}


def test_advice_leaves_out_what_the_piece_lacks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The library and the command alike, with no test named."""
    file = tmp_path / "piece.toml"
    for outcome, asked in (("screw cap", False), ("film or bag", False), ("tray or cup", True)):
        advice = next_tests([{"test": "article", "outcome": outcome}])
        assert ("cantilever_bend" in {found.plan.test for found in advice.suggestions}) == asked
        file.write_text(f'[[observation]]\ntest = "article"\noutcome = "{outcome}"\n', encoding="utf-8")
        assert main(["next", str(file), "--have", "strip", "--top", "30"]) == 0
        assert ("bend a strip 2 to 3 mm thick" in capsys.readouterr().out) == asked


def test_a_limp_film_is_no_mistake() -> None:
    """Bending stiffness goes with the cube of the thickness: every word is as likely, whatever the modulus."""
    answer = identify([FILM, LIMP])
    assert answer.disagreeing == ()
    words = [identify([FILM, {"test": "feel", "outcome": word}]) for word in ("limp", "rigid")]
    assert words[0].probability == pytest.approx(words[1].probability, abs=1e-12)
    made = as_shaped((observe("article", outcome="film or bag"), observe("feel", outcome="limp")))
    term = made[1].term()
    for error, shape in ((None, (3,)), (np.zeros((5, 1)), (5, 3))):
        likelihood = term.likelihood(np.array([1.0, 100.0, 3000.0]), error)
        assert likelihood.shape == shape
        assert np.ptp(likelihood) == 0.0
    assert made[1].describe().endswith("(not counted)")


def test_order_does_not_matter_and_other_articles_count() -> None:
    assert identify([LIMP, FILM]).probability == pytest.approx(identify([FILM, LIMP]).probability)
    cap, stiff = {"test": "article", "outcome": "screw cap"}, {"test": "feel", "outcome": "rigid"}
    assert identify([cap, stiff])["PP"] != pytest.approx(identify([cap, LIMP])["PP"], rel=0.1)


def test_tables_and_bags_read_a_film_alike() -> None:
    """A row of a table, an item of a bag and a piece with the same observations are read alike."""
    words = {"article.outcome": ["film or bag", "pipe", None], "process.outcome": [None, None, "film"]}
    table = identify_table(pd.DataFrame({**words, "feel.outcome": ["limp", "rigid", "limp"]})).to_frame()
    pieces = (
        [FILM, LIMP],
        [{"test": "article", "outcome": "pipe"}, {"test": "feel", "outcome": "rigid"}],
        [{"test": "process", "outcome": "film"}, LIMP],
    )
    for row, made in enumerate(pieces):
        answer = identify(made)
        assert [table.loc[row, resin] for resin in answer.resins] == pytest.approx(answer.probability, abs=1e-9)
    (item,) = Batch.of("bag", pieces=[[FILM, LIMP]]).pieces
    assert shapes_lacked(item) == set(SHAPES)
    assert item[1].describe().endswith("(not counted)")


def test_a_misspelt_outcome_lacks_no_shape() -> None:
    declare = word_test("snap", "fold", ("Fold.", "Look."), minutes=1.0, lacks={"snapped": ("wall",)})
    with pytest.raises(MethodError, match=r"snap: \['snapped'\] cannot lack a shape"):
        declare(type("Misspelt", (WordTest,), {"__doc__": "Misspelt."}))
