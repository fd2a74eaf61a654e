r"""Names that people give are drawn as they are: no formula, none so long that it runs into what stands beside it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

import resinid
from resinid import Batch, InputError, UnknownNameError
from resinid.plot.bags import draw_composition, draw_pairs
from resinid.plot.look import LONGEST, named
from resinid.plot.mixtures import draw_mixture, mixtures
from resinid.plot.moves import draw_moves
from resinid.plot.next_bath import draw_bath_information
from resinid.plot.piece_plots import draw_probabilities, draw_standing
from resinid.plot.property_map import draw_property_map
from resinid.reference.table import default_reference

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes

NAMES: Final = (r"$\frac$", "5 $ and 6 $", r"\$ $", "$", "a\nb $x_$", "x" * 300, "$" * 300)
TABLE: Final = default_reference()
ANSWER: Final = resinid.identify([{"test": "float", "liquid": "water", "outcome": "floats"}])
CAPS: Final = Batch.of("caps", marked={"PE-HD": 30})


def axes_() -> Axes:
    figure = Figure(figsize=(7.0, 4.6), dpi=80)
    FigureCanvasAgg(figure)
    return figure.add_subplot()


def answer_of(name: str) -> resinid.Result:
    jug = resinid.parse_liquid({"density": "1.07 g/cm3", "label": name})
    return resinid.identify([{"test": "float", "liquid": jug, "outcome": "floats"}])


def renamed(name: str) -> resinid.ReferenceTable:
    """Return a table in which a resin bears the name."""
    swap: Callable[[Any], Any] = lambda row: replace(row, resin=name) if row.resin == "PP" else row  # noqa: E731 - as it is short
    return replace(
        TABLE,
        resins=tuple(replace(each, symbol=name) if each.symbol == "PP" else each for each in TABLE.resins),
        variants=tuple(map(swap, TABLE.variants)),
        statements=tuple(map(swap, TABLE.statements)),
        digest=f"with {name}",
    )


def composition_of(name: str) -> resinid.Composition:
    return resinid.batch_composition(Batch.of(name, marked={"PP": 3}))


PICTURES: Final[dict[str, Callable[[Axes, str], object]]] = {
    "composition": lambda axes, name: draw_composition(composition_of(name), ax=axes),
    "pairs": lambda axes, name: draw_pairs(resinid.stock_matrix([Batch.of(name, marked={"PP": 3}), CAPS]), ax=axes),
    "standing": lambda axes, name: draw_standing(answer_of(name), ax=axes),
    "moves": lambda axes, name: draw_moves(answer_of(name), ax=axes),
    "bath": lambda axes, name: draw_bath_information(
        ANSWER,
        bench=resinid.Bench(liquids=(resinid.parse_liquid({"density": "1.07 g/cm3", "label": name}),)),
        ax=axes,
    ),
    "mixture of a resin": lambda axes, name: draw_mixture(renamed(name), name, "density", ax=axes),
    "probabilities of a resin": lambda axes, name: draw_probabilities(
        replace(ANSWER, resins=tuple(name if each == "PE-LD" else each for each in ANSWER.resins)), ax=axes
    ),
}


@pytest.mark.parametrize("name", NAMES, ids=range(len(NAMES)))
@pytest.mark.parametrize("picture", PICTURES)
def test_it_is_drawn_and_not_wider_than_the_page(picture: str, name: str) -> None:
    axes = axes_()
    PICTURES[picture](axes, name)
    figure = axes.get_figure()
    assert figure is not None
    figure.draw_without_rendering()  # type: ignore[union-attr]  # because it is no part of another figure
    widths = [text.get_window_extent().width for text in (*axes.texts, *axes.get_yticklabels(), axes.title)]
    assert max(widths) < figure.bbox.width


@pytest.mark.parametrize("name", NAMES, ids=range(len(NAMES)))
def test_a_name_is_shown_as_it_is(name: str) -> None:
    """Law: nothing but its length and its line breaks change, and no dollar stands without its backslash."""
    told = named(name)
    plain = " ".join(name.split())
    assert told.replace(r"\$", "$") == (plain if len(plain) <= LONGEST else plain[: LONGEST - 1] + "…")
    assert told.count("$") == told.count(r"\$")


WRONG: Final[list[tuple[Callable[..., object], tuple[object, ...], dict[str, object], str]]] = [
    (draw_standing, (ANSWER,), {"shown": 0}, "shown"),
    (draw_standing, (ANSWER,), {"shown": "x"}, "shown"),
    (draw_standing, (ANSWER,), {"name": []}, "name"),
    (draw_standing, ("x",), {}, "answer"),
    (draw_probabilities, (ANSWER,), {"shown": 0}, "shown"),
    (draw_probabilities, (None,), {}, "answer"),
    (draw_moves, ("x",), {}, "answer"),
    (draw_property_map, ("x",), {}, "answer"),
    (draw_property_map, (ANSWER,), {"resins": 5}, "resins"),
    (draw_composition, ("x",), {}, "composition"),
    (draw_composition, (composition_of("b"),), {"shown": 0}, "shown"),
    (draw_composition, (composition_of("b"),), {"contaminants": -1}, "contaminants"),
    (draw_pairs, (None,), {}, "matrix"),
    (draw_bath_information, (ANSWER,), {"bench": 5}, "bench"),
    (draw_bath_information, (ANSWER,), {"allow": "flammable bath"}, "allow"),
    (draw_bath_information, (5,), {}, "answer"),
    (draw_mixture, ("x", "PP", "density"), {}, "table"),
]


@pytest.mark.parametrize(("draw", "given", "options", "place"), WRONG, ids=range(len(WRONG)))
def test_what_cannot_be_drawn_is_refused(
    draw: Callable[..., object], given: tuple[object, ...], options: dict[str, object], place: str
) -> None:
    with pytest.raises(InputError, match=place):
        draw(*given, **options, ax=axes_())


@pytest.mark.parametrize("latent", ["nope", None, []])
def test_a_property_without_a_distribution_is_refused(latent: Any) -> None:  # noqa: ANN401 - because it is wrong on purpose
    with pytest.raises(UnknownNameError, match="has no distribution; known: density"):
        draw_mixture(TABLE, "PP", latent, ax=axes_())
    with pytest.raises(UnknownNameError, match="has no distribution; known: density"):
        mixtures(TABLE, latent)
