"""What is no batch, share, prior or document is refused by name in every function about bags."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pint
import pytest

import resinid
from resinid import Batch, InputError, RangeError, Reading, UnknownNameError
from resinid.batches.bag_entries import Flakes
from resinid.liquids import pure_water

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

CAPS: Final = Batch.of("caps", marked={"PE-HD": 30})
POTS: Final = Batch.of("pots", marked={"PS": 30})
Q: Final[Any] = pint.get_application_registry().Quantity  # type: ignore[no-untyped-call]  # because pint has no types

CALLS: Final[dict[str, Callable[..., object]]] = {
    "batch_composition": lambda **given: resinid.batch_composition(CAPS, **given),
    "melt_together": lambda **given: resinid.melt_together(CAPS, POTS, **given),
    "melt_plan": lambda **given: resinid.melt_plan(CAPS, POTS, **given),
    "same_resin": lambda **given: resinid.same_resin(CAPS, POTS, **given),
    "stock_matrix": lambda **given: resinid.stock_matrix([CAPS, POTS], **given),
}


@pytest.mark.parametrize(
    ("name", "wrong", "error"),
    [
        ("prior", 5, InputError),
        ("prior", None, InputError),
        ("prior", {"PP": -1}, InputError),
        ("prior", "nope", UnknownNameError),
        ("reference", "reference", InputError),
        ("concentration", "x", RangeError),
        ("concentration", True, RangeError),
        ("concentration", None, RangeError),
    ],
)
def test_every_function_names_what_is_wrong(name: str, wrong: object, error: type[Exception]) -> None:
    for call in CALLS.values():
        with pytest.raises(error, match=name):
            call(**{name: wrong})


@pytest.mark.parametrize(
    "call",
    [
        resinid.batch_composition,
        lambda wrong: resinid.melt_together(CAPS, wrong),
        resinid.melt_plan,
        lambda wrong: resinid.same_resin(CAPS, wrong),
        lambda wrong: resinid.stock_matrix([CAPS, wrong]),
    ],
    ids=CALLS,
)
def test_what_is_no_batch_is_refused(call: Callable[[object], object]) -> None:
    for wrong in ("x", None, {"batch": "x"}, Batch):
        with pytest.raises(InputError, match=r"is no batch; make one with resinid\.Batch\.of"):
            call(wrong)


def test_a_stock_is_any_list() -> None:
    assert resinid.stock_matrix(iter([CAPS, POTS])) == resinid.stock_matrix([CAPS, POTS])  # type: ignore[arg-type]  # as a test of that
    for wrong in (None, 5, "caps", {"caps": CAPS}, CAPS):
        with pytest.raises(InputError, match="stock"):
            resinid.stock_matrix(wrong)  # type: ignore[arg-type]  # because it is wrong on purpose


@pytest.mark.parametrize(
    "shares", [5, "12", [1, None], {1: 1, 2: 2}, [1], {1.0, 2.0}, [1, "1 kg"], ["1 m", "2 kg"], [1, 1j]]
)
def test_shares_that_are_none_are_refused(shares: Any) -> None:  # noqa: ANN401 - because it is wrong on purpose
    for function in (resinid.melt_together, resinid.melt_plan):
        with pytest.raises(InputError, match="shares"):
            function(CAPS, POTS, shares=shares)


def test_all_faulty_shares_are_told_together() -> None:
    with pytest.raises(InputError, match=r"shares\[1\](?s:.*)shares\[2\]"):
        resinid.melt_together(CAPS, POTS, shares=["1 m", "2 s"])


@pytest.mark.parametrize(
    "shares",
    [[Q(1, "kg"), Q(3000, "g")], ["1 kg", "3 kg"], np.array([1.0, 3.0]), iter([1, 3]), [np.int64(1), np.float32(3)]],
)
def test_shares_are_numbers_or_masses_of_any_list(shares: Any) -> None:  # noqa: ANN401 - as above
    assert resinid.melt_together(CAPS, POTS, shares=shares).shares == (0.25, 0.75)


def test_limits_are_numbers() -> None:
    for given in ({"wanted": "x"}, {"wanted": True}, {"level": None}, {"level": 0.2}):
        with pytest.raises(RangeError, match=next(iter(given))):
            resinid.batch_composition(CAPS, **given)
    numpys: dict[str, Any] = {"concentration": np.int64(1), "wanted": np.float32(0.5), "level": np.float64(0.9)}
    found = resinid.batch_composition(CAPS, **numpys)
    assert found.to_json() == resinid.batch_composition(CAPS, concentration=1.0, wanted=0.5, level=0.9).to_json()


@pytest.mark.parametrize("name", ["HDPE", "XX", "", None, [], 5])
def test_a_share_is_asked_for_by_its_symbol(name: Any) -> None:  # noqa: ANN401 - as above
    """As a result is."""
    found = resinid.batch_composition(CAPS)
    assert found["PE-HD"] == found.main
    with pytest.raises(UnknownNameError, match="is no candidate; known: ABS"):
        found[name]


def test_a_bag_is_read_from_its_path_too(tmp_path: Path) -> None:
    path = tmp_path / "bag.toml"
    path.write_text('batch = "lids"\n[marked]\nPP = 8\n', encoding="utf-8")
    assert resinid.read_batch(path) == resinid.read_batch(str(path)) == resinid.read_batch(path.read_text("utf-8"))
    for wrong, says in ((tmp_path / "no.toml", "cannot be read"), (tmp_path, "no plain file")):
        with pytest.raises(InputError, match=says):
            resinid.read_batch(wrong)


@pytest.mark.parametrize("wrong", [None, b"batch = 'x'", 5])
def test_a_document_is_a_text(wrong: Any) -> None:  # noqa: ANN401 - as above
    for read in (resinid.read_batch, resinid.read_stock):
        with pytest.raises(InputError, match="read_text"):
            read(wrong)


@pytest.mark.parametrize("wrong", [None, 5, ["reference"]])
def test_a_folder_is_a_path(wrong: Any) -> None:  # noqa: ANN401 - as above
    if wrong is not None:
        with pytest.raises(InputError, match="folder"):
            resinid.read_stock("name,file\na,b.toml\n", folder=wrong)
    for read in (resinid.load_reference, resinid.default_reference().extended):
        with pytest.raises(InputError, match="folder"):
            read(wrong)


@pytest.mark.parametrize(
    "entries",
    [
        {"marked": (("PE-HD", -5),)},
        {"marked": 5},
        {"marked": {1: 2}},
        {"marked": {"PP": 5001}},
        {"pieces": 5},
        {"pieces": (("floats",),)},
        {"flakes": (Flakes("water", 1, 1),)},  # type: ignore[arg-type]  # as above
        {"flakes": (Flakes(pure_water(), -1, 1),)},
        {"process": "spinning"},
        {"mfr": "five"},
        {"mass": Reading(-1.0, 0.1)},
        {"remarks": ("blue",)},
        {"remarks": ([],)},
        {"mfr_condition": 5},
    ],
    ids=lambda entries: next(iter(entries)),
)
def test_a_batch_made_without_of_is_looked_at_too(entries: dict[str, Any]) -> None:
    place = next(iter(entries)).removesuffix("s")
    for make in (Batch, Batch.of):
        with pytest.raises(InputError, match=rf"{place}|5001"):
            make("n", **entries)


@pytest.mark.parametrize("name", ["", " ", None, 5])
def test_a_batch_has_a_name(name: Any) -> None:  # noqa: ANN401 - as above
    for make in (Batch, Batch.of):
        with pytest.raises(InputError, match="give the bag one"):
            make(name)


def test_both_ways_to_make_a_batch_make_one() -> None:
    plain: dict[str, Any] = {"marked": {"PP": 3}, "remarks": ["white", "black"], "mass": "2 kg", "process": "Film"}
    assert Batch("n", **plain) == Batch.of("n", **plain)
    assert Batch("n", **plain).content == Batch.of("m", **plain).content
    assert Batch("n", **plain).stream != Batch.of("m", **plain).stream
