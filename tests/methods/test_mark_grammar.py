"""Laws of marks, drawn from the grammar of the standards.

ISO 11469:2016: ``>symbol<``; blends ``>PC+ABS<``; additions behind a hyphen, ``>PP-GF30<``; several in brackets,
``>PA66-(GF25+MD15)<``; recycled content, ``>ABS(REC30)<``; plasticisers, ``>PVC-P(DBP)<`` (guides to it print these).
ISO 1043-2:2011, 2.3 and 2.4: a letter for the material, one for the form, mixtures as ``(GF+MD)``. ISO 1043-4: ``FR``
and one or more code numbers. Letters and codes themselves are from memory.
"""

from __future__ import annotations

from typing import Final

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from resinid.methods.marking.forbidden import FORBIDDEN, SOLE
from resinid.methods.marking.mark import MarkRule, parse_mark
from resinid.methods.marking.method import MarkRead
from resinid.methods.marking.symbols import ANOTHER, CODE_OF, SYMBOLS

SETTINGS: Final = settings(max_examples=200, deadline=None)

PLASTICS: Final = (*(symbol for symbol in SYMBOLS if symbol not in FORBIDDEN), "PEI", "PA46", "PBAT", "COC", "LCP")
LETTERS: Final = "ABCEGKLMNPQRSTWXZ"
"""Materials of ISO 1043-2 without D, aluminium trihydrate, which retards flames."""
FORMS: Final = ("", *"BCDFGHKLMNPRSTVWXYZ")
DOUBTFUL: Final = frozenset({"BR", "CL"})
"""Boron roving and carbon in layers are written as bromine and chlorine are, and taken for these."""
PLAIN_FILLERS: Final = ("GF", "GB", "GX", "CF", "TD", "KD", "MD", "MX", "WD", "GCM")
OTHERS: Final = ("HI", "I", "X", "IM10", "P(DBP)", "P(DEHP+BBP)")

FLAMES: Final = ("FR", "FR(17)", "FR(40)", "FR(17+40)", "FR17", "FR (16)", "Fr(60)")
HALOGENS: Final = ("Br", "Cl", "F", "brominated", "chlorine", "halogen")
RESINS: Final = tuple(symbol for symbol in FORBIDDEN if symbol not in SOLE)

JOINTS: Final = st.sampled_from(("+", "-", " ", "/", " + "))


@st.composite
def fillers(draw: st.DrawFn) -> str:
    if draw(st.booleans()):
        return draw(st.sampled_from(PLAIN_FILLERS))
    letters = draw(st.sampled_from(LETTERS)) + draw(st.sampled_from(FORMS))
    assume(letters not in DOUBTFUL)
    return f"{letters}{draw(st.integers(1, 99))}"


@st.composite
def parts(draw: st.DrawFn) -> tuple[list[str], list[str]]:
    """Plastics, and what is added to them, each with what joins it."""
    plastics = draw(st.lists(st.sampled_from(PLASTICS), min_size=1, max_size=3, unique=True))
    if draw(st.integers(0, 3)) == 0:
        plastics.append("EPDM")
    joint = draw(st.sampled_from(("+", "+", "/")))
    named = [plastics[0], *(f"{joint}{each}" for each in plastics[1:])]
    added = []
    several = draw(st.lists(fillers(), max_size=3))
    bare = draw(st.booleans())
    if bare or len(several) == 1:
        added += [f"{draw(st.sampled_from('- '))}{each}" for each in several]
    elif several:
        added.append(f"-({'+'.join(several)})")
    if draw(st.booleans()):
        added.append(f"-{draw(st.sampled_from(OTHERS))}")
    if draw(st.booleans()):
        added.append(draw(st.sampled_from(("(REC)", "(REC30)", "-REC20"))))
    return named, added


@st.composite
def wrapped(draw: st.DrawFn, body: str, plastics: list[str]) -> str:
    codes = CODE_OF.get(plastics[0], "7") if len(plastics) == 1 else "7"
    code = draw(st.sampled_from(codes))
    text = draw(
        st.sampled_from((body, body.lower(), f">{body}<", f"{code} {body}", f"{body} {code}", f">{body}< {code}"))
    )
    assume(len(text) < 56)
    return text


@st.composite
def ordinary(draw: st.DrawFn) -> str:
    named, added = draw(parts())
    return draw(wrapped("".join(named + added), named))


@st.composite
def warning(draw: st.DrawFn) -> str:
    """An ordinary mark with something that forbids heating at any place, also within brackets and first."""
    named, added = draw(parts())
    what = draw(st.sampled_from((FLAMES, HALOGENS, RESINS)).flatmap(st.sampled_from))
    pieces = named + added
    place = draw(st.integers(0, len(pieces)))
    within = [index for index, piece in enumerate(pieces) if piece.startswith("-(")]
    inside = draw(st.booleans())
    if within and inside:
        pieces[within[0]] = f"{pieces[within[0]][:-1]}+{what})"
    elif place == 0:
        # A plastic that comes first is joined as a blend, anything else by a space.
        pieces.insert(0, what + (draw(st.sampled_from("+/")) if what in RESINS else " "))
    else:
        pieces.insert(place, draw(JOINTS) + what)
        pieces[place + 1 : place + 2] = [
            piece if piece[0] in "-+/( " else f" {piece}" for piece in pieces[place + 1 : place + 2]
        ]
    # Beside a forbidden plastic the letters name another plastic than any number; a number says nothing against that.
    return draw(wrapped("".join(pieces), named))


@SETTINGS
@given(ordinary())
@example("HDPE 2")
@example(">PP+EPDM-T15<")
def test_an_ordinary_mark_is_understood_whole_and_forbids_nothing(text: str) -> None:
    """A mark of known symbols without flame retardant, halogen or forbidden resin never forbids heating."""
    mark = parse_mark(text)
    assert mark.not_understood == ""
    assert MarkRead(mark).forbids_heating() == ""
    assert MarkRead(mark).describe() in {f"marked {mark.text}", f"marked {mark.text} (other)"}


@SETTINGS
@given(warning())
@example(">PP-(GF30+FR)<")
@example(">PA66-(GF25+MD15)FR(40)<")
def test_a_warning_anywhere_forbids(text: str) -> None:
    """A mark with a flame retardant, a halogen or a forbidden resin at any place forbids heating."""
    mark = parse_mark(text)
    assert mark.forbids
    assert MarkRead(mark).forbids_heating().startswith(f"marked {mark.text}: ")


@SETTINGS
@given(ordinary(), st.from_regex(r"Q[AEU]{2,5}", fullmatch=True), st.sampled_from("- +/"))
def test_a_word_that_is_not_understood_is_said_and_forbids(text: str, word: str, joint: str) -> None:
    """Letters that name nothing, behind an ordinary mark, never leave it an ordinary one."""
    assume(not text.endswith("<") and not text[-1].isdigit())
    mark = parse_mark(text + joint + word)
    assert mark.not_understood == word
    assert "" not in mark.additions
    assert word in MarkRead(mark).describe()
    assert word in MarkRead(mark).forbids_heating()


@SETTINGS
@given(st.one_of(ordinary(), warning(), ordinary().map(lambda text: text.replace("<", " QQ<"))))
def test_a_mark_survives_writing(text: str) -> None:
    """What is read of the text a mark is written as is that mark."""
    mark = parse_mark(text)
    assume(len(mark.text) <= 60)
    assert MarkRule().parse(MarkRule().dump(mark)) == mark


@pytest.mark.parametrize("plastic", PLASTICS)
def test_one_plastic_is_told(plastic: str) -> None:
    names = parse_mark(f">{plastic}-(GF25+MD15)(REC30)<").names
    assert names == ((plastic,) if plastic in SYMBOLS else (ANOTHER,))
