"""The debrief as one HTML file: whole, escaped, without script or request, the same every time."""

from __future__ import annotations

import dataclasses
import math
import re
import subprocess
import sys
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from coach.debrief.report.html import html_of
from coach.debrief.report.markdown import markdown_of
from coach.debrief.report.paper import MOST, MOST_FIRST, picked, sheets
from coach.debrief.report.sections import Point, Section, sections_of
from tests.debrief.report.contrast import contrast, variables
from tests.debrief.report.test_markdown import bare
from tests.debrief.sample_account import small_account, with_texts

ROOT = Path(__file__).resolve().parents[3]
HOSTILE = ("$x^2$", "<script>alert(1)</script>", "&", "</style>", "\"' onload='x", "{{ 7 * 7 }}",
           "<img src=x onerror=y>", "--></svg><b>", "\x1b[31m", "\udc80\u202e")  # fmt: skip
EMPTY = {"meta", "link", "img", "br", "hr", "col", "input"}


class Page(HTMLParser):
    """A page taken apart: elements in order, what is open, texts by element."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.crossed: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append((self.open[-1] if self.open else "", data))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]

    @property
    def words(self) -> str:
        return " ".join(
            " ".join(text.split()) for tag, text in self.texts if tag not in ("style", "title")
        )


@pytest.fixture(scope="module")
def text() -> str:
    return html_of(small_account())


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    return Page(text)


def test_every_element_is_closed_where_it_was_opened(page: Page) -> None:
    assert (page.crossed, page.open) == ([], [])


def test_it_has_no_script_and_asks_for_nothing(text: str, page: Page) -> None:
    assert not {"script", "link", "img", "iframe", "object", "embed", "form", "base"} & {
        tag for tag, _ in page.elements
    }
    assert "http://" not in text
    assert "https://" not in text
    assert "@import" not in text
    assert re.findall(r"url\((?!#)", text) == []
    attributes = {name for _, given in page.elements for name in given}
    assert not [name for name in attributes if name.startswith("on")]


def test_its_policy_lets_nothing_in_but_its_own_style(page: Page) -> None:
    policy = next(m["content"] for m in page.all("meta") if m.get("http-equiv"))
    assert policy == "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def test_every_link_leads_to_a_place_in_the_page(page: Page) -> None:
    names = [a["id"] for _, a in page.elements if "id" in a]
    assert len(names) == len(set(names))
    links = [a["href"] for _, a in page.elements if a.get("href")]
    assert links
    assert [link for link in links if (link or "").removeprefix("#") not in names] == []


def test_headings_are_in_order_and_what_is_changeable_comes_first(page: Page) -> None:
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    titles = [said for tag, said in page.texts if tag == "h2"]
    assert titles[:6] == [
        "To change on the boards and in the next revision: 2", "In three sentences",
        "What was planned", "What happened", "Why they differ", "What to do differently",
    ]  # fmt: skip


def test_cells_that_name_a_row_or_a_column_say_so(page: Page) -> None:
    assert {cell.get("scope") for cell in page.all("th")} == {"row", "col"}
    rows = [cell for cell in page.all("th") if cell.get("scope") == "row"]
    heads = sum(tag == "thead" for tag, _ in page.elements)
    assert len(rows) == len(page.all("tr")) - heads


def test_each_chart_says_what_it_shows(page: Page) -> None:
    charts = page.all("svg")
    assert len(charts) == 5  # the timeline for a desk and for a telephone, three others
    assert {chart["role"] for chart in charts} == {"img"}
    says = [chart["aria-label"] or "" for chart in charts]
    assert says[0] == says[1]
    assert "layout, 52 min in a box of 38 min" in says[0]
    assert "strap (boot strap) fail with −8.0 %" in says[2]
    assert "at 1 A" in says[3]
    assert "limit 125 °C" in says[3]
    assert "cut-off 2:00, came 2:03" in says[4]


def test_a_verdict_in_a_chart_is_a_word_beside_its_mark(page: Page) -> None:
    drawn = {said for tag, said in page.texts if tag == "text"}
    assert {"fail −8.0 %", "marginal 6.0 %", "pass 55 %", "limit", "cut-off", "end"} <= drawn


def test_the_page_says_what_the_markdown_says(page: Page) -> None:
    missing = [
        words
        for section in sections_of(small_account()) if section.id != "curves"
        for words in (
            section.lead,
            *(piece for p in section.points for piece in (p.mark, p.text, p.evidence, *p.names)),
            *(cell for t in section.tables for row in t.rows for cell in row),
        )
        if " ".join(words.split()) not in page.words
    ]  # fmt: skip
    assert missing == []


@pytest.mark.parametrize("typed", HOSTILE)
def test_hostile_texts_in_every_place_give_the_elements_of_harmless_ones(typed: str) -> None:
    # As long as they are: how much is shown at once goes by the length of it.
    harmless = Page(html_of(with_texts(small_account(), f" {'x' * len(typed)}")))
    told = html_of(with_texts(small_account(), f" {typed}"))
    told.encode("utf-8")
    hostile = Page(told)
    assert hostile.crossed == []
    assert [tag for tag, _ in hostile.elements] == [tag for tag, _ in harmless.elements]
    assert [set(a) for _, a in hostile.elements] == [set(a) for _, a in harmless.elements]
    assert "\x1b" not in told


@pytest.mark.parametrize("typed", ["$x^2$", "<script>", "&", "$\\frac{1}{2}$", "a_b^c"])
def test_a_name_in_a_chart_is_drawn_as_it_was_typed(typed: str) -> None:
    told = small_account()
    named = dataclasses.replace(
        told,
        phases=tuple(dataclasses.replace(e, name=typed) for e in told.phases),
        calculations=tuple(dataclasses.replace(e, name=typed) for e in told.calculations),
        forecasts=tuple(dataclasses.replace(e, mark=0, because=typed) for e in told.forecasts),
    )
    drawn = [said for tag, said in Page(html_of(named)).texts if tag == "text"]
    assert drawn.count(typed) == 2 * len(told.phases)  # the timeline, wide and narrow
    assert f"{typed}: junction" in drawn
    assert any(said.startswith(f"0:30, {typed}: ") for said in drawn)


def test_charts_have_the_colours_of_the_page_and_no_others(text: str) -> None:
    charts = re.findall(r"<svg.*?</svg>", text, re.DOTALL)
    used = set(re.findall(r"(?:fill|stroke): ([^;\"]+)", " ".join(charts)))
    known = {f"var(--{name})" for name in variables()["light"]}
    assert used - {"none"} <= known


def test_a_curve_is_drawn_with_its_limit_and_where_the_calculation_stands(page: Page) -> None:
    drawn = {said for tag, said in page.texts if tag == "text"}
    assert {"limit 125 °C", "here 420 mA"} <= drawn


@pytest.mark.parametrize("curve", [
    {}, {"x": "1", "y": [1.0]}, {"x": [1.0, 2.0], "y": [1.0]}, {"x": [1.0, 1.0], "y": [1.0, 2.0]},
    {"x": [1.0, "2"], "y": [1.0, 2.0]}, {"x": [0.0, math.nan], "y": [1.0, 2.0]},
    {"x": [0.0, 1.0], "y": [1e308, 2.0]}, {"x": [0.0, 10**400], "y": [1.0, 2.0]},
])  # fmt: skip
def test_a_curve_nobody_can_draw_is_left_out(curve: dict[str, object]) -> None:
    told = small_account()
    odd = tuple(dataclasses.replace(one, curve=curve) for one in told.calculations)
    assert len(Page(html_of(dataclasses.replace(told, calculations=odd))).all("svg")) == 4


def test_a_flat_curve_with_a_unit_of_no_table_is_drawn() -> None:
    told = small_account()
    flat = {"title": "Flat", "x": [0.0, 1.0], "y": [2.0, 2.0], "x_unit": "furlong", "y_unit": ""}
    odd = (dataclasses.replace(told.calculations[0], curve=flat),)
    page = Page(html_of(dataclasses.replace(told, calculations=odd)))
    assert any("1 furlong" in said for tag, said in page.texts if tag == "text")


@pytest.mark.parametrize(
    "figure", [math.nan, math.inf, -math.inf, 1e308, -1e308, 0.0, -5.0, 1e-300, 1e9]
)
def test_figures_of_a_forged_journal_are_drawn_within_the_sheet(figure: float) -> None:
    told = Page(html_of(with_figures(small_account(), figure)))
    assert told.crossed == []
    assert "nan" not in told.words.lower().split()
    for _, attributes in told.elements:
        for key in ("d", "x", "y"):
            values = [
                float(n) for n in re.findall(r"-?\d[\d.]*(?:e[+-]?\d+)?", attributes.get(key) or "")
            ]
            assert all(-400 < value < 2000 for value in values)


def with_figures(told: Any, figure: float) -> Any:
    """The same account with every number with a point replaced."""
    if isinstance(told, float):
        return figure
    if isinstance(told, (tuple, list)):
        return type(told)(with_figures(one, figure) for one in told)
    if isinstance(told, dict):
        return {key: with_figures(one, figure) for key, one in told.items()}
    if dataclasses.is_dataclass(told) and not isinstance(told, type):
        return dataclasses.replace(told, **{
            f.name: with_figures(getattr(told, f.name), figure) for f in dataclasses.fields(told)
        })  # fmt: skip
    return told


def test_an_account_with_next_to_nothing_is_still_a_page() -> None:
    page = Page(html_of(bare()))
    assert page.crossed == []
    assert "Nothing this journal knows of is left to change." in page.words
    assert len(page.all("svg")) == 2


_TELL = """
import sys
from coach.debrief.report.html import html_of
from coach.debrief.report.markdown import markdown_of
from coach.debrief.report.markdown import markdown_of
from tests.debrief.sample_account import small_account
told = small_account()
sys.stdout.buffer.write((html_of(told) + markdown_of(told)).encode())
sys.exit("matplotlib.pyplot" in sys.modules)
"""


def test_the_same_account_gives_the_same_bytes_in_another_process(
    text: str, tmp_path: Path
) -> None:
    # A person's own settings of matplotlib must not show either.
    (tmp_path / "matplotlibrc").write_text(
        "lines.linewidth: 7\nsvg.fonttype: path\nfont.size: 30\n"
    )
    told = [
        subprocess.run(
            [sys.executable, "-c", _TELL], cwd=ROOT, capture_output=True, timeout=120, check=True,
            env={"PYTHONHASHSEED": seed, "HOME": str(tmp_path), "TZ": zone, **more},
        )
        for seed, zone, more in (
            ("1", "UTC", {}), ("4711", "Asia/Tokyo", {"MPLCONFIGDIR": str(tmp_path)}),
        )
    ]  # fmt: skip
    assert told[0].stdout == told[1].stdout
    assert told[0].stdout.startswith(text.encode())
    assert told[1].stderr == b""


def test_where_the_journal_lies_does_not_show() -> None:
    told = small_account()
    moved = dataclasses.replace(told, path=Path("/home/somebody") / told.path)
    assert html_of(moved) == html_of(told)
    assert markdown_of(moved) == markdown_of(told)


def test_drawing_leaves_the_settings_of_a_notebook_as_they_were() -> None:
    import matplotlib

    before = dict(matplotlib.rcParams)
    html_of(small_account())
    assert dict(matplotlib.rcParams) == before


# ---- two sheets of paper -----------------------------------------------------------------------


def many(number: int) -> tuple[Point, ...]:
    return tuple(Point("A sentence of some length about the board. " * 3) for _ in range(number))


def test_what_two_sheets_cannot_hold_stands_behind_a_fold_that_says_how_much() -> None:
    told = small_account()
    account = dataclasses.replace(told, happened=tuple(f"It happened, {n}." for n in range(9)))
    page = Page(html_of(account))
    assert "3 more" in [said for tag, said in page.texts if tag == "summary"]
    assert all(f"It happened, {n}." in page.words for n in range(9))


def test_every_section_is_given_some_room_and_none_more_than_its_most() -> None:
    names = {**MOST_FIRST, **MOST}
    sections = [Section(name, name, points=many(40)) for name in names]
    held = sheets(sections, 16, 4)
    assert set(held.numbers) == set(names)
    assert all(1 <= held.numbers[name] <= most for name, most in names.items())


def test_with_little_to_say_every_item_is_shown() -> None:
    timeline = next(s for s in sections_of(small_account()) if s.id == "timeline")
    held = sheets([timeline], 0, 0)
    assert held.items >= len(small_account().items)


def test_essentials_that_went_astray_are_shown_before_what_was_closed_in_time() -> None:
    timeline = next(s for s in sections_of(small_account()) if s.id == "timeline")
    tables = [table for table in timeline.tables if table.ranks]
    chosen = picked(tables, 4)
    shown = {tables[t].rows[n][1] for t, rows in enumerate(chosen) for n in rows}
    assert shown == {
        "A reversed supply harms nothing", "Each strap has a level at reset (boot strap)",
        "Reset is pulled to a rail that is alive", "The crystal sees its load capacitance",
    }  # fmt: skip


# ---- contrast ----------------------------------------------------------------------------------


def test_contrast_is_reckoned_as_the_guidelines_do() -> None:
    # WCAG 2.2, W3C Recommendation 2023, definition of "contrast ratio": black on white is 21:1;
    # #767676 on white is the darkest grey that just passes 4.5:1 (technique G18): 4.54.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
@pytest.mark.parametrize("paper", ["paper", "raised"])
def test_text_and_strokes_stand_out_from_their_ground(scheme: str, paper: str) -> None:
    # WCAG 2.2, 1.4.3 Contrast (Minimum): 4.5:1 for text; 1.4.11 Non-text Contrast: 3:1. The
    # rules between rows and under charts carry nothing that is not also said.
    colours = variables()[scheme]
    for role in ("ink", "quiet", "done", "next", "doubt", "due"):
        assert contrast(colours[role], colours[paper]) >= 4.5, role
