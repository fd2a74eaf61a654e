"""How much a float test would tell, over the density of the liquid."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.identification.result import Result
from resinid.identification.score import model_of
from resinid.io.arguments import check_kind
from resinid.methods.bench_parser import as_bench
from resinid.methods.dangers import allowed_dangers
from resinid.planning.candidates import bath_dangers, candidate_tests
from resinid.planning.information import information
from resinid.planning.piece_posterior import PiecePosterior
from resinid.planning.question import question_of
from resinid.plot.look import FILLS, LINES, READING, axes_or_new, named, tidy
from resinid.report.property_spans import reference_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matplotlib.axes import Axes

    from resinid.methods.bench import Bench
    from resinid.reference.table import ReferenceTable

__all__ = ["draw_bath_information"]

READY: Final = "float"


def draw_bath_information(
    answer: Result,
    *,
    bench: Bench | str | None = None,
    question: str | Mapping[str, Iterable[str]] = "resin",
    allow: Iterable[str] = (),
    reference: ReferenceTable | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw the information expected of a float test against the density of the liquid.

    Parameters
    ----------
    answer : Result
        What is known of the piece.
    bench : Bench or str, optional
        What baths can be mixed from and which stand ready, as :func:`resinid.next_tests` takes it.
    question : str or mapping, optional
        What is asked, as there.
    allow : iterable of str, optional
        May hold ``"flammable bath"``.
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. A line for each reagent over the densities it reaches, each with its
        own uncertainty of mixing; squares are jugs that stand ready; the best is named.

    Raises
    ------
    InputError
        What is at hand, what is allowed or the question; what is no answer, or one made with another table.
    UnknownNameError
        No such question.

    Notes
    -----
    Expected information is that of :func:`resinid.next_tests`: the mutual information of
    the outcome (floats, hovers, sinks) and the answer, given the observations.
    """
    check_kind("answer", answer, Result, "resinid.identify")
    chosen = reference_of(answer, reference)
    held = as_bench(bench)
    lit = bath_dangers(allowed_dangers(allow))
    asked = question_of(chosen, question, None)
    before = dict(zip(answer.resins, answer.prior, strict=True))
    model = model_of(chosen)
    known = PiecePosterior(model, np.array([before[name] for name in model.candidates]), answer.observations)
    weights, values = known.weights("density"), known.latent("density").values
    offered = candidate_tests(held, (), lit)
    axes = axes_or_new(ax)
    best = (0.0, 0.0)
    for family, line, fill in zip(offered.families, LINES * 9, FILLS * 9, strict=False):
        bits = information(asked.gather(known.joint(family.kernels(values) @ weights.T)))
        axes.plot(
            family.densities, bits, color=fill.colour, linestyle=line, linewidth=2.0, label=named(str(family.source))
        )
        top = int(bits.argmax())
        best = max(best, (float(bits[top]), float(family.densities[top])))
    for plan in (one for one in offered.plans if one.test == READY and one.hazard in {"", *lit}):
        liquid = plan.outcomes[0].liquid  # type: ignore[attr-defined]  # because float tests have one
        told = float(information(asked.gather(known.joint(known.chances(plan)))))
        axes.plot(liquid.density, told, "s", color="white", markeredgecolor="black", markersize=7, linestyle="")
        axes.annotate(
            named(liquid.label), (liquid.density, told), xytext=(7, 5), textcoords="offset points", fontsize=8
        )
    axes.set_ylim(0.0, max(1.25 * best[0], 0.05))
    if best[0] > 0:
        axes.plot(best[1], best[0], "v", color=READING, markeredgecolor="black", markersize=8, linestyle="")
        axes.annotate(
            f"best: {best[1]:.3f} g/cm³, {best[0]:.2f} bit", (best[1], best[0]), xytext=(0, 9),
            textcoords="offset points", ha="center", fontsize=9,
        )  # fmt: skip
    axes.margins(x=0.12)
    axes.set_xlabel("Density of the liquid [g/cm³]")
    axes.set_ylabel("Expected information [bit]")
    if offered.families:
        axes.legend(
            title="mixed from water and", title_fontsize=8, fontsize=8, frameon=False, loc="upper center",
            bbox_to_anchor=(0.5, -0.13), ncols=4, handlelength=3.2,
        )  # fmt: skip
    tidy(axes)
    return axes
