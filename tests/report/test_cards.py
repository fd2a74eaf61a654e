"""The HTML of every public answer: complete, escaped, self-contained, legible."""

from __future__ import annotations

import inspect
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from show_answers import FLOATS, HOSTILE, answers, cap

import resinid
from resinid.batches.ranges import Ends
from resinid.batches.stock import StockMatrix
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.melting.steps import MeltPlan
from resinid.report.cautions import settling_words
from resinid.report.markup import card, el, html_of
from resinid.report.plan_report import plan_report
from resinid.report.sections import Line, Report
from resinid.report.style import DARK, LIGHT, OKABE_ITO, SHEET, STYLE
from resinid.report.text import clean, factor
from resinid.tables.stream import Streamed

VOID = {"meta", "br", "img", "link", "hr", "input"}
KINDS = sorted(answers())
INPUTS = {"Observation"}
"""What a person gives, though a function returns it in canonical form: it is shown as part of an answer."""


class Page(HTMLParser):
    """Collects elements and texts, and refuses what is not balanced."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.text += data


def html_of_answer(answer: object) -> str:
    shown: Any = answer
    return str(shown._repr_html_())


def test_every_public_function_that_gives_an_answer_gives_one_that_can_be_looked_at() -> None:
    for name in resinid.__all__:
        thing = getattr(resinid, name)
        if not inspect.isfunction(thing):
            continue
        given = str(inspect.signature(thing).return_annotation).strip("'")
        if given.startswith(("pd.", "tuple[")) or given in INPUTS:  # pandas has its own; a tuple shows its members
            continue
        for one in given.removesuffix(" | pd.DataFrame").split(" | "):
            kind = getattr(resinid, one, None) or {"Liquid": type(answers()["Liquid"]), "Streamed": Streamed}[one]
            assert hasattr(kind, "_repr_html_"), name


@pytest.mark.parametrize("kind", KINDS)
def test_a_card_is_balanced_and_loads_nothing(kind: str) -> None:
    html = html_of_answer(answers()[kind])
    page = Page(html)
    assert page.seen[0] == ("section", {"class": "resinid", "aria-label": page.seen[0][1]["aria-label"]})
    assert not {tag for tag, _ in page.seen} & {"script", "link", "img", "iframe", "object", "form", "a"}
    assert not re.search(r"https?:|url\((?!#)|@import|javascript:|\bon\w+=", html)
    assert all("id" not in attributes for _, attributes in page.seen)  # two cards in one notebook would clash
    assert "prefers-color-scheme:dark" in html
    assert len(page.text) > 60


@pytest.mark.parametrize("kind", KINDS)
def test_tables_say_what_they_show_and_name_their_rows_and_columns(kind: str) -> None:
    page = Page(html_of_answer(answers()[kind]))
    tags = [tag for tag, _ in page.seen]
    assert tags.count("caption") == tags.count("table")
    assert all(attributes.get("scope") in {"row", "col"} for tag, attributes in page.seen if tag == "th")


@pytest.mark.parametrize("kind", KINDS)
def test_names_that_people_give_are_text_and_never_markup(kind: str) -> None:
    shown = html_of_answer(answers(HOSTILE)[kind])
    page = Page(shown)
    assert "script" not in {tag for tag, _ in page.seen}
    assert "\x1b" not in shown
    assert "\u202e" not in shown
    if kind in {"Result", "Batch", "StockMatrix", "Liquid", "Composition", "MeltCompatibility"}:
        assert "<script>alert('cap & \"co\"')</script>" in page.text


def test_a_card_says_what_the_answer_says() -> None:
    answer = cap()
    text = Page(html_of_answer(answer)).text
    assert f"green screw cap: {answer.headline}" in text
    for part in (answer.heat.headline, *answer.heat.cautions, *(o.describe() for o in answer.observations)):
        assert part in text
    assert answer.reference_digest[:12] in text
    assert ", ".join(answer.sources) in text


def test_a_card_shows_what_each_test_told_by_itself_and_besides() -> None:
    """And first of all whether it may be heated, and which tests would settle that where they are known."""
    answer = resinid.next_tests([*FLOATS[:1]], question="heat").result
    page = Page(html_of_answer(answer))
    assert settling_words(answer.heat) in page.text
    assert page.text.index("Heating: ") < page.text.index("by itself") < page.text.index("Most probable resins")
    (row,) = zip(answer.log_alone, answer.log_factors, strict=True)
    for told in row:
        assert factor(told[0]) in page.text


def test_a_plan_that_is_refused_shows_the_refusal_and_no_steps() -> None:
    text = Page(html_of_answer(answers()["refused plan"])).text
    assert DO_NOT_HEAT in text
    assert "melt at" not in text
    assert "melt at" in Page(html_of_answer(answers()["MeltPlan"])).text


def test_a_matrix_shows_every_verdict_in_words() -> None:
    found = answers()["StockMatrix"]
    assert isinstance(found, StockMatrix)
    text = Page(html_of_answer(found)).text
    for row in found.verdicts:
        for verdict in row:
            assert verdict in text


def test_a_test_that_was_left_out_is_named() -> None:
    answer = replace(cap(), left_out=(("knock", "its plug-in failed"),))
    assert "knock was left out: its plug-in failed" in Page(html_of_answer(answer)).text


texts = st.text(max_size=40)


@given(texts, texts)
@settings(max_examples=200, deadline=None)
def test_law_text_comes_back_as_it_went_in(text: str, attribute: str) -> None:
    """Law: text and attributes are read back by an HTML parser as they were put in, but for control signs."""
    page = Page(html_of(el("p", text, el("b", "x"), text, title=attribute)))
    same = clean(text).replace("\r", "\n")
    assert page.text == f"{same}x{same}"
    assert page.seen[0][1]["title"] == clean(attribute)
    assert Page(card(Report(text, (Line(text),)))).seen[0][1]["aria-label"] == clean(text)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_reckoned_as_the_standard_does() -> None:
    """Black on white is 21:1 by the standard's definition; #767676 on white is the lightest grey that passes 4.5:1
    and #777777 fails, as W3C's understanding documents and WebAIM's checker say (from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_text_and_lines_stand_out(theme: dict[str, str]) -> None:
    """WCAG 2.2, criteria 1.4.3 (text, 4.5:1) and 1.4.11 (graphics, 3:1)."""
    for name in ("ink", "soft", "warn"):
        assert contrast(theme[name], theme["back"]) >= 4.5
    assert contrast(theme["warn"], theme["warnback"]) >= 4.5
    for name in ("rule", "bar", "mark"):
        assert contrast(theme[name], theme["back"]) >= 3.0


def test_colours_are_those_of_the_palette_or_close_to_grey() -> None:
    """Bars and marks are Okabe & Ito's; all else but the warning colours is grey, so hue alone says nothing."""
    for theme in (LIGHT, DARK):
        assert {theme["bar"], theme["mark"]} <= set(OKABE_ITO.values())
        for name in ("ink", "soft", "rule"):
            parts = [int(theme[name][at : at + 2], 16) for at in (1, 3, 5)]
            assert max(parts) - min(parts) <= 8


def test_no_style_reaches_outside_its_box() -> None:
    """A notebook holds other people's pages too: each of the card's rules is bound to our class."""
    plain = re.sub(r"@media[^{]*\{(.*?\})\}", r"\1", STYLE)
    for selectors in re.findall(r"([^{}]+)\{", plain):
        for selector in selectors.split(","):
            assert ".resinid" in selector
    assert "@import" not in SHEET


def test_importing_the_package_loads_nothing_that_only_shows() -> None:
    code = (
        "import sys, resinid; heavy = {'resinid.report.markup', 'resinid.report.sheet', 'resinid.plot.look', "
        "'xml.etree.ElementTree', 'matplotlib', 'pandas', 'pint', 'scipy.stats'}; "
        "print(sorted(heavy & set(sys.modules))); sys.exit(bool(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_a_range_that_is_a_point_is_one_number() -> None:
    """As where the table has one statement of how to dry: 66 °C for 2 h, not 66 to 66 °C for 2 to 2 h."""
    plan = answers()["MeltPlan"]
    assert isinstance(plan, MeltPlan)
    assert plan.steps is not None
    wet = replace(plan.steps, resins=(("PA6", 1.0),))
    hot, hours = Ends(66.0, 66.0, 66.0, ()), Ends(2.0, 2.0, 2.0, ())
    text = Page(card(plan_report(replace(plan, steps=replace(wet, drying=(hot, hours)))))).text
    assert "at 66 °C for 2 h, for PA6" in text
    wide = (replace(hot, low=49.0), replace(hours, low=1.0))
    text = Page(card(plan_report(replace(plan, steps=replace(wet, drying=wide))))).text
    assert "at 49 to 66 °C for 1 to 2 h, for PA6" in text
