"""The debrief's page in a browser: telephone and desk, light and dark, on paper."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coach.report.sections import Point, Report
from tests.report.browser.conftest import A4, LETTER, REHEARSED, Browser
from tests.report.contrast import contrast

WIDTHS = (360, 390, 1280)
NAMES = ["small", "hostile", "long", *REHEARSED]

_TOO_WIDE = """
const edge = document.documentElement.clientWidth;
const wide = [...document.querySelectorAll("body *")].filter((one) =>
  !one.closest("svg") && one.getBoundingClientRect().right > edge + 0.5);
return [document.documentElement.scrollWidth - edge,
  wide.map((one) => one.tagName + "." + one.className)];
"""

_OVERLAPS = """
const folded = "details:not([open]) > :not(summary)";
const shown = [...document.querySelectorAll(
  "header, nav, section, footer, figure, p, li, h1, h2, h3, td, th, summary, dt, dd, .caption")]
  .filter((one) => one.getClientRects().length && !one.closest(folded))
  .map((one) => [one, one.getBoundingClientRect()]);
const found = [];
for (let i = 0; i < shown.length; i++) for (let j = i + 1; j < shown.length; j++) {
  const [a, r] = shown[i], [b, s] = shown[j];
  if (a.contains(b) || b.contains(a)) continue;
  const x = Math.min(r.right, s.right) - Math.max(r.left, s.left);
  const y = Math.min(r.bottom, s.bottom) - Math.max(r.top, s.top);
  if (x > 1 && y > 1) found.push(a.textContent.slice(0, 40) + " / " + b.textContent.slice(0, 40));
}
return found;
"""

_CHART_WORDS = """
const found = [];
for (const chart of document.querySelectorAll("svg.chart")) {
  const frame = chart.getBoundingClientRect();
  if (!frame.width) continue;
  const words = [...chart.querySelectorAll("text")]
    .map((one) => [one, one.getBoundingClientRect()]);
  for (const [one, r] of words)
    if (r.left < frame.left - 1 || r.right > frame.right + 1 || r.bottom > frame.bottom + 2)
      found.push("outside: " + one.textContent);
  for (let i = 0; i < words.length; i++) for (let j = i + 1; j < words.length; j++) {
    const [a, r] = words[i], [b, s] = words[j];
    const x = Math.min(r.right, s.right) - Math.max(r.left, s.left);
    const y = Math.min(r.bottom, s.bottom) - Math.max(r.top, s.top);
    if (x > 2 && y > 4) found.push(a.textContent + " / " + b.textContent);
  }
}
return found;
"""

_COLOURS = """
const clear = "rgba(0, 0, 0, 0)", found = new Set();
for (const one of document.querySelectorAll("body *")) {
  const own = [...one.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
  if (!own || !one.getClientRects().length) continue;
  let ground = one;
  while (ground && getComputedStyle(ground).backgroundColor === clear)
    ground = ground.parentElement;
  const style = getComputedStyle(one);
  found.add([one.closest("svg") ? style.fill : style.color,
    getComputedStyle(ground || document.body).backgroundColor].join("|"));
}
return [...found];
"""


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", NAMES)
def test_the_page_does_not_scroll_sideways(
    browser: Browser, pages: dict[str, Path], name: str, width: int
) -> None:
    browser.open(pages[name], width)
    assert browser.ask(_TOO_WIDE) == [0, []]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["small", "given-up"])
def test_nothing_lies_over_anything_else(
    browser: Browser, pages: dict[str, Path], name: str, width: int
) -> None:
    browser.open(pages[name], width)
    assert browser.ask(_OVERLAPS) == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["small", *REHEARSED])
def test_the_words_of_a_chart_can_be_read(
    browser: Browser, pages: dict[str, Path], name: str, width: int
) -> None:
    browser.open(pages[name], width)
    assert browser.ask(_CHART_WORDS) == []


@pytest.mark.parametrize("name", ["small", "hostile"])
def test_the_page_asks_for_nothing_and_complains_of_nothing(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    browser.open(pages[name])
    assert browser.asked_for() == [pages[name].as_uri()]
    assert browser.ask("return performance.getEntriesByType('resource').length") == 0
    assert browser.complaints() == []
    assert browser.ask("return document.title").startswith("Debrief: Greenhouse fan controller")


def test_a_script_that_got_in_would_not_run(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["small"])
    browser.ask("""
        const one = document.createElement("script");
        one.textContent = "window.ran = true";
        document.body.append(one);
    """)
    assert browser.ask("return window.ran === undefined") is True
    assert any("Content Security Policy" in said for said in browser.complaints())


def test_what_is_still_changeable_is_seen_without_scrolling(
    browser: Browser, pages: dict[str, Path]
) -> None:
    for width in WIDTHS:
        browser.open(pages["small"], width)
        place = browser.ask("""
            const first = document.querySelector("#to-change li").getBoundingClientRect();
            return first.bottom;
        """)
        assert 0 < place < 640  # the shortest of usual telephones shows so much


@pytest.mark.parametrize("name", ["small", "given-up"])
def test_light_and_dark_differ_and_both_can_be_read(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    # WCAG 2.2, 1.4.3 Contrast (Minimum): 4.5:1.
    seen = {}
    for scheme in ("light", "dark"):
        browser.open(pages[name], scheme=scheme)
        seen[scheme] = {tuple(pair.split("|")) for pair in browser.ask(_COLOURS)}
        for colour, ground in seen[scheme]:
            assert contrast(hexadecimal(colour), hexadecimal(ground)) >= 4.5, (colour, ground)
    assert not seen["light"] & seen["dark"]


def hexadecimal(colour: str) -> str:
    red, green, blue = (int(n) for n in re.findall(r"\d+", colour)[:3])
    assert "rgba" not in colour
    return f"#{red:02x}{green:02x}{blue:02x}"


def test_on_a_telephone_difference_and_why_are_seen_without_a_swipe(
    browser: Browser, pages: dict[str, Path], reports: dict[str, Report]
) -> None:
    browser.open(pages["given-up"], 390)
    seen = browser.ask("""
        return [...document.querySelectorAll("#timeline tbody tr")].map((row) =>
          [...row.querySelectorAll("th, [data-label='difference'], [data-label='why']")]
            .filter((one) => one.textContent)
            .filter((one) => {
              const r = one.getBoundingClientRect();
              return r.width > 0 && r.left >= 0 && r.right <= 390;
            }).map((one) => one.textContent.trim()));
    """)
    (table,) = reports["given-up"].section("timeline").tables
    wanted = [[row.cells[0], *(c for c in row.cells[5:] if c)] for row in table.rows]
    assert seen == wanted


# ---- paper -------------------------------------------------------------------------------------

_PRINTED = """
const shown = (one) => {
  if (!one.getClientRects().length) return false;
  for (let o = one; o; o = o.parentElement) {
    const style = getComputedStyle(o);
    if (style.overflow !== "visible" && o.scrollHeight > o.clientHeight + 1) return false;
    if (style.visibility !== "visible" || style.webkitLineClamp !== "none") return false;
  }
  return true;
};
return [...document.querySelectorAll(arguments[0])].filter(shown)
  .map((one) => one.textContent.replace(/\\s+/g, " ").trim());
"""


def flat(points: tuple[Point, ...]) -> list[str]:
    return [text for one in points for text in (one.text, *flat(one.below))]


@pytest.mark.parametrize("name", NAMES)
def test_on_paper_nothing_of_the_first_box_and_of_the_sentences_is_folded_or_cut(
    browser: Browser, pages: dict[str, Path], reports: dict[str, Report], name: str
) -> None:
    browser.open(pages[name])
    browser.on_paper()
    for section in ("to-change", "sentences", "forgotten"):
        printed = browser.driver.execute_script(_PRINTED, f"#{section} .points .text")
        wanted = [" ".join(one.split()) for one in flat(reports[name].section(section).points)]
        assert printed == wanted, section


@pytest.mark.parametrize("name", NAMES)
def test_on_paper_a_fold_says_how_much_of_what_is_in_the_file(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    browser.open(pages[name])
    browser.on_paper()
    said = browser.driver.execute_script(_PRINTED, "summary")
    assert all(re.fullmatch(r"\d+ .+, in the file itself", one) for one in said)
    hidden = browser.ask("""
        return [...document.querySelectorAll("details > :not(summary)")]
          .filter((one) => one.checkVisibility()).length
    """)
    assert hidden == 0


def test_a_usual_sprint_takes_a_few_sheets(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["usual"])
    assert max(browser.sheets(A4), browser.sheets(LETTER)) <= 5


def test_it_is_printed_dark_on_light_whatever_the_screen_is(
    browser: Browser, pages: dict[str, Path]
) -> None:
    browser.open(pages["small"], scheme="dark")
    browser.on_paper()
    ground = browser.ask("return getComputedStyle(document.body).backgroundColor")
    assert ground == "rgb(255, 255, 255)"
