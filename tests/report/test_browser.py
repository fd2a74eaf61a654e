"""The sheet and the cards in a real browser: pages when printed, accessibility, overlaps, what is loaded.

Run with ``-m browser``; needs Debian's package chromium, which ``.ci/run`` installs. Without it these tests
fail rather than being skipped. Accessibility is judged by axe-core (Deque Systems), rules for WCAG 2.2 A and AA.
"""

from __future__ import annotations

import io
import math
import os
import shutil
from typing import TYPE_CHECKING, Any

import pytest
from show_answers import FLOATS, HOSTILE, answers, cap

import resinid
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.reference.table import default_reference
from resinid.report.label import piece_label
from resinid.report.property_spans import spans_of
from resinid.report.sheet import bench_sheet
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

pytestmark = pytest.mark.browser

TABLE = default_reference()
NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = (
    "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
FLOAT_LIQUIDS = (
    "water", "ethanol 40 %v/v", "ethanol 55 %v/v", "isopropanol 70 %v/v", "table salt 110 g/kg water",
    "table salt saturated", "CaCl2 400 g/kg water", "sugar 300 g/kg water", "glycerol 50 %v/v",
)  # fmt: skip


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    """One page of a headless browser that reaches nothing."""
    from playwright.sync_api import sync_playwright

    program = next((found for name in NAMES if (found := shutil.which(name))), None)
    if program is None:
        pytest.fail(f"NO BROWSER: none of {', '.join(NAMES)} is installed; on Debian: apt-get install chromium")
    root = hasattr(os, "geteuid") and os.geteuid() == 0  # Chromium's sandbox does not start for root.
    arguments = [*QUIET, "--no-sandbox"] if root else list(QUIET)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=program, args=arguments)
        yield browser.new_page()
        browser.close()


def show(page: Page, html: str, *, scheme: str = "light", media: str = "screen", width: int = 900) -> list[str]:
    """Show a page and return what it asked for and complained of."""
    noted: list[str] = []

    def asked(request: Any) -> None:  # noqa: ANN401 - an event of the browser's
        noted.append(request.url)

    def said(message: Any) -> None:  # noqa: ANN401 - as above
        noted.append(message.text)

    page.on("request", asked)
    page.on("console", said)
    page.set_viewport_size({"width": width, "height": 700})
    page.emulate_media(media=media, color_scheme=scheme)
    page.set_content(html, wait_until="load")
    page.remove_listener("request", asked)
    page.remove_listener("console", said)
    return noted


def faults_of(page: Page) -> list[str]:
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options={"runOnly": list(RULES)})
    assert len(found.response["passes"]) > 10  # that it did look
    return [
        f"{fault['id']}: {node['html'][:200]} {node.get('failureSummary', '')}"
        for fault in found.response["violations"]
        for node in fault["nodes"]
    ]


def leading(resin: str) -> resinid.Result:
    """An answer in which a resin leads: its middle density and softening temperature, and a prior for it."""
    observations: list[dict[str, str]] = []
    (density,) = spans_of(TABLE, "density", [resin])
    (softening,) = spans_of(TABLE, "softening_temperature", [resin])
    if density.stated:
        observations.append({"test": "density", "density": f"{density.middle:.4f} ± 0.003 g/cm3"})
    if math.isfinite(softening.middle):
        observations.append({"test": "softening", "temperature": f"{softening.middle:.1f} ± 3 degC"})
    return resinid.identify(observations, prior={resin: 10_000.0, "PE-HD": 1.0}, piece=f"a piece of {resin}")


def crowded() -> resinid.Result:
    """As much as one piece may have: a hundred observations that contradict each other, and a long name."""
    both = [{"test": "float", "liquid": name, "outcome": o} for name in FLOAT_LIQUIDS for o in ("floats", "sinks")]
    return resinid.identify([*both, *[{"test": "feel", "outcome": "rigid"}] * 82], piece="a very long name " * 40)


def dangerous() -> resinid.Result:
    """A crowded one with every kind of test on which heating may hang, none of which may be cut."""
    words = {"ignition": "easily", "flame": "yellow", "smoke": "black soot", "drips": "no", "smell": "styrene"}
    hot = [{"test": f"burn_{what}", "outcome": word} for what, word in words.items()]
    hot += [{"test": "burn_self_extinguishing", "outcome": "no"}, {"test": "copper_wire", "outcome": "green"}]
    hot += [{"test": "mark", "reads": ">ABS-FR(17)<"}]
    others = crowded().observations[: 100 - len(hot)]
    return resinid.identify([*others, *hot], piece="burnt", allow=["burn", "copper wire"])


def sheets() -> dict[str, str]:
    made = {resin: bench_sheet(leading(resin)) for resin in TABLE.symbols}
    made["crowded"] = bench_sheet(crowded())
    made["dangerous"] = bench_sheet(dangerous())
    made["untested"] = bench_sheet(resinid.identify([]))
    made["words"] = bench_sheet(
        resinid.identify([{"test": "snap", "outcome": "snaps"}, {"test": "feel", "outcome": "rigid"}])
    )
    made["hostile"] = bench_sheet(cap(HOSTILE))
    return made


def test_every_sheet_prints_to_one_page_of_either_paper(page: Page) -> None:
    """ISO 216 A4 and ANSI Letter; every resin leads once, so the longest cautions of the table are among them."""
    from pypdf import PdfReader

    for name, html in sheets().items():
        show(page, html, media="print")
        for paper in ("A4", "Letter"):
            printed = PdfReader(io.BytesIO(page.pdf(format=paper)))
            assert len(printed.pages) == 1, f"{name} on {paper}"


def test_what_is_printed_is_all_there(page: Page) -> None:
    from pypdf import PdfReader

    answer = leading("PVC-U")
    show(page, bench_sheet(answer), media="print")
    (printed,) = PdfReader(io.BytesIO(page.pdf(format="A4"))).pages
    text = " ".join(printed.extract_text().split())
    assert answer.leader == "PVC-U"
    for part in (
        DO_NOT_HEAT,
        "Answer",
        "Cautions",
        "Evidence",
        "What to do next",
        "Sources",
        answer.reference_digest,
        answer.piece,
    ):
        assert part in text
    for caution in answer.heat.cautions:
        assert " ".join(caution.split()) in text


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("media", ["screen", "print"])
def test_sheets_are_accessible(page: Page, scheme: str, media: str) -> None:
    for answer in (cap(), leading("PVC-U"), crowded(), resinid.identify([])):
        show(page, bench_sheet(answer), scheme=scheme, media=media)
        assert faults_of(page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_labels_are_accessible_load_nothing_and_are_no_larger_than_a_sheet_of_a6(page: Page, scheme: str) -> None:
    """ISO 216: A6 is 105 mm by 148 mm; 96 pixels of CSS are an inch. The longest cautions of the table fit."""
    for answer in (*map(leading, TABLE.symbols), resinid.identify([]), cap(HOSTILE)):
        assert show(page, piece_label(answer, lot="KL-7 " * 20, date="2026-11-30"), scheme=scheme) == []
        size = page.locator("main").bounding_box()
        assert size is not None
        assert size["width"] <= 105 / 25.4 * 96, answer.piece
        assert size["height"] <= 148 / 25.4 * 96, answer.piece
    for answer in (cap(), leading("PVC-U"), resinid.identify([])):
        show(page, piece_label(answer), scheme=scheme)
        assert faults_of(page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_cards_are_accessible(page: Page, scheme: str) -> None:
    shown = "".join(str(answer._repr_html_()) for answer in map(_any, answers().values()))
    # Rules on whole pages: a card is part of someone else's.
    html = f'<!DOCTYPE html><html lang="en"><head><title>Cards</title></head><body><main><h1>Cards</h1>{shown}</main>'
    show(page, html, scheme=scheme)
    kept = [fault for fault in faults_of(page) if not fault.startswith(("landmark-unique", "region"))]
    assert kept == []


def _any(answer: object) -> Any:  # noqa: ANN401 - every answer can be looked at
    return answer


def test_the_check_of_accessibility_can_fail(page: Page) -> None:
    """Pale grey on white, and a picture without words, must be found."""
    html = bench_sheet(cap()).replace("--soft:#565656", "--soft:#aaaaaa").replace("<h1>", '<img src="data:,"><h1>')
    show(page, html)
    found = " ".join(faults_of(page))
    assert "color-contrast" in found
    assert "image-alt" in found


def test_nothing_is_loaded_and_nothing_runs(page: Page) -> None:
    for html in (bench_sheet(cap(HOSTILE)), str(_any(cap(HOSTILE))._repr_html_())):
        assert show(page, html) == []


def test_dark_and_light_are_followed_and_print_is_light(page: Page) -> None:
    seen = {}
    for scheme, media in (("light", "screen"), ("dark", "screen"), ("dark", "print")):
        show(page, bench_sheet(cap()), scheme=scheme, media=media)
        seen[scheme, media] = page.evaluate("getComputedStyle(document.querySelector('main')).backgroundColor")
    assert seen["light", "screen"] == seen["dark", "print"] == "rgb(255, 255, 255)"
    assert seen["dark", "screen"] == "rgb(21, 24, 28)"


def test_a_notebook_says_which_theme_it_wears(page: Page) -> None:
    """JupyterLab marks its body with data-jp-theme-light; a card goes by that before what the screen prefers."""
    shown = _any(cap())._repr_html_()
    show(page, f'<body data-jp-theme-light="false">{shown}</body>', scheme="light")
    colour = page.evaluate("getComputedStyle(document.querySelector('.resinid')).backgroundColor")
    assert colour == "rgb(21, 24, 28)"


def test_a_narrow_screen_needs_no_scrolling_sideways(page: Page) -> None:
    """WCAG 2.2, success criterion 1.4.10: reflow at a width of 320 CSS pixels."""
    show(page, bench_sheet(cap()), width=320)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


OVERLAPS = """() => {
  const texts = [...document.querySelectorAll('svg[role=img] text')], box = t => t.getBoundingClientRect();
  const frame = document.querySelector('svg[role=img]').getBoundingClientRect(), bad = [];
  texts.forEach((one, i) => {
    const a = box(one);
    if (a.left < frame.left - 1 || a.right > frame.right + 1 || a.bottom > frame.bottom + 1 || a.top < frame.top - 1)
      bad.push('out: ' + one.textContent);
    texts.slice(i + 1).forEach(other => {
      const b = box(other), x = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const y = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (x > 1 && y > 2.5) bad.push(one.textContent + ' / ' + other.textContent);
    });
  });
  return [texts.length, bad];
}"""


def test_no_word_in_the_picture_lies_on_another(page: Page) -> None:
    many = [leading(resin) for resin in TABLE.symbols if resin != NONE_OF_THESE]
    for answer in (cap(), crowded(), *many, resinid.identify([*FLOATS, {"test": "modulus", "modulus": "900 MPa"}])):
        show(page, bench_sheet(answer))
        if not page.query_selector("svg[role=img]"):
            continue
        count, bad = page.evaluate(OVERLAPS)
        assert count > 8
        assert bad == [], answer.piece
