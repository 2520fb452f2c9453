"""The debrief as one HTML file: whole, escaped, without script or request, the same every time."""

from __future__ import annotations

import dataclasses
import re
import subprocess
import sys
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from coach.report.charts.curves import curve
from coach.report.charts.timeline import timeline
from coach.report.html import html_of
from coach.report.markdown import markdown_of
from coach.report.sections import Point
from phases.kit.record import CurveRecord
from tests.report.contrast import contrast, variables
from tests.report.sample_report import (
    bare,
    phases,
    small_report,
    time_chart,
    with_names,
    with_section,
    with_texts,
)

ROOT = Path(__file__).resolve().parents[2]
HOSTILE = (
    "$x^2$",
    "<script>alert(1)</script>",
    "&",
    "</style>",
    "\"' onload='x",
    "{{ 7 * 7 }}",
    "<img src=x onerror=y>",
    "--></svg><b>",
    "\x1b[31m",
    "\udc80\u202e",
)
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
    return html_of(small_report())


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
        "Still changeable before production: 2",
        "Forgotten",
        "In three sentences",
        "What was planned",
        "What happened",
        "Why they differ",
    ]


def test_cells_that_name_a_row_or_a_column_say_so(page: Page) -> None:
    assert {cell.get("scope") for cell in page.all("th")} == {"row", "col"}
    rows = [cell for cell in page.all("th") if cell.get("scope") == "row"]
    heads = sum(tag == "thead" for tag, _ in page.elements)
    assert len(rows) == len(page.all("tr")) - heads


def test_each_chart_says_what_it_shows(page: Page) -> None:
    charts = page.all("svg")
    assert len(charts) == 7  # three for a desk and for a telephone, and a curve
    assert {chart["role"] for chart in charts} == {"img"}
    says = [chart["aria-label"] or "" for chart in charts]
    assert says[0] == says[1] and says[2] == says[3] and says[5] == says[6]
    assert "layout took 52 min in a box of 38 min" in says[0]
    assert "strap (boot strap) fail −8.0 %" in says[2]
    assert "at 1 A" in says[4]
    assert "limit 125 °C" in says[4]
    assert "cut-off 2:00, finish 2:03" in says[5]


def test_a_verdict_in_a_chart_is_a_word_beside_its_mark(page: Page) -> None:
    drawn = {said for tag, said in page.texts if tag == "text"}
    assert {"fail −8.0 %", "marginal 6.0 %", "pass 55 %", "limit", "cut-off", "end"} <= drawn


def test_the_page_says_what_the_markdown_says(page: Page) -> None:
    def said(point: Point) -> list[str]:
        below = [text for one in point.below for text in said(one)]
        return [point.mark, point.text, point.evidence, *below]

    missing = [
        words
        for section in small_report().sections
        if section.id != "curves"
        for words in (
            section.title,
            section.lead,
            *(text for point in section.points for text in said(point)),
            *(table.caption for table in section.tables),
            *(cell for table in section.tables for row in table.rows for cell in row.cells),
        )
        if " ".join(words.split()) not in page.words
    ]
    assert missing == []


@pytest.mark.parametrize("typed", HOSTILE)
def test_hostile_texts_in_every_place_give_the_elements_of_harmless_ones(typed: str) -> None:
    harmless = Page(html_of(with_texts(small_report(), " x")))
    told = html_of(with_texts(small_report(), f" {typed}"))
    told.encode("utf-8")
    hostile = Page(told)
    assert hostile.crossed == []
    assert [tag for tag, _ in hostile.elements] == [tag for tag, _ in harmless.elements]
    assert [set(a) for _, a in hostile.elements] == [set(a) for _, a in harmless.elements]
    assert "\x1b" not in told


@pytest.mark.parametrize("typed", ["$x^2$", "<script>", "&", "$\\frac{1}{2}$", "a_b^c"])
def test_a_name_in_a_chart_is_drawn_as_it_was_typed(typed: str) -> None:
    drawn = [
        said
        for tag, said in Page(html_of(with_names(small_report(), typed))).texts
        if tag == "text"
    ]
    begin = typed[:1].upper() + typed[1:]
    assert drawn.count(begin) == len(phases())  # the timeline, wide
    assert sum(one.startswith(f"{begin}: ") for one in drawn) >= len(phases())  # and narrow
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


@pytest.mark.parametrize(
    "kept",
    [
        {"x": (0.0, 1.0), "y": (2.0, 2.0)},
        {"x": (0.0, 1.0), "y": (0.0, 0.0)},
        {"x": (1e-18, 1e18), "y": (-1e18, 1e18), "log": True},
        {"x": (-1.0, 1.0), "y": (1.0, 2.0)},
        {"x": (0.0, 1.0), "y": (1.0, 2.0), "at": 7.0, "bound": (3.0, 4.0)},
    ],
)
def test_a_curve_is_drawn_within_its_sheet(kept: dict[str, Any]) -> None:
    of = {"title": "Flat", "x_unit": "furlong", "y_unit": ""}
    drawn = curve("lens", CurveRecord.model_validate({**of, **kept}))
    assert "furlong" in drawn
    assert_within(drawn)


def test_a_curve_at_one_place_is_left_out() -> None:
    kept = CurveRecord(title="One", x=(1.0, 1.0), y=(1.0, 2.0), x_unit="V", y_unit="V")
    assert curve("lens", kept) == ""


@pytest.mark.parametrize("seconds", [0.0, -1e9, 1e10, 59.0, 1e-9])
def test_times_that_no_sprint_has_are_drawn_within_the_sheet(seconds: float) -> None:
    chart = dataclasses.replace(time_chart(), deadline=seconds, end=-seconds)
    assert_within(timeline(chart))
    assert_within(timeline(chart, narrow=True))


def assert_within(svg: str) -> None:
    """Every place in a drawing is a number near its sheet."""
    for _, attributes in Page(svg).elements:
        for key in ("points", "x", "y", "width", "height", "transform"):
            for number in re.findall(r"-?\d[\d.]*(?:e[+-]?\d+)?", attributes.get(key) or ""):
                assert -400 < float(number) < 2000
    assert not re.search(r"\b(nan|inf)\b", svg)


def test_a_report_with_next_to_nothing_is_still_a_page() -> None:
    page = Page(html_of(bare()))
    assert page.crossed == []
    assert "Nothing is left to change." in page.words
    assert page.all("svg") == []


_TELL = """
import sys
from coach.report.html import html_of
from coach.report.markdown import markdown_of
from tests.report.sample_report import small_report
told = small_report()
sys.stdout.buffer.write((html_of(told) + markdown_of(told)).encode())
"""


def test_the_same_report_gives_the_same_bytes_in_another_process(text: str, tmp_path: Path) -> None:
    told = [
        subprocess.run(
            [sys.executable, "-c", _TELL],
            cwd=ROOT,
            capture_output=True,
            timeout=120,
            check=True,
            env={"PYTHONHASHSEED": seed, "HOME": str(tmp_path), "TZ": zone, "PYTHONPATH": "."},
        )
        for seed, zone in (("1", "UTC"), ("4711", "Asia/Tokyo"))
    ]
    assert told[0].stdout == told[1].stdout
    assert told[0].stdout.startswith(text.encode())
    assert told[1].stderr == b""


def test_where_the_journal_lies_does_not_show() -> None:
    told = small_report()
    moved = dataclasses.replace(told, path=Path("/home/somebody") / told.path)
    assert html_of(moved) == html_of(told)
    assert markdown_of(moved) == markdown_of(told)


# ---- folds -------------------------------------------------------------------------------------


def test_only_quiet_rows_are_folded_and_the_fold_says_what_they_are(page: Page) -> None:
    folds = [said for tag, said in page.texts if tag == "summary"]
    assert folds == ["5 more checks", "5 closed in time"]
    assert "open" not in [name for attributes in page.all("details") for name in attributes]


@pytest.mark.parametrize(("quiet", "folds"), [(3, 0), (4, 1)])
def test_a_fold_is_worth_it_from_four_hidden_rows(quiet: int, folds: int) -> None:
    (table,) = small_report().section("items").tables
    cut = dataclasses.replace(table, rows=table.rows[: quiet + 1])
    page = Page(html_of(with_section(bare_with_items(), "items", tables=(cut,))))
    assert len(page.all("details")) == folds
    assert all(row.cells[1] in page.words for row in cut.rows)


def bare_with_items() -> Any:
    report = small_report()
    return dataclasses.replace(report, sections=(report.section("items"),))


def test_nothing_of_the_first_box_and_of_the_sentences_is_ever_behind_a_fold() -> None:
    many = tuple(
        Point(f"Entry {n}.", below=tuple(Point(f"Item {n}.{m}") for m in range(30)))
        for n in range(30)
    )
    text = html_of(with_section(small_report(), "to-change", points=many))
    first = re.search(r'<section id="to-change".*?</section>', text, re.DOTALL)
    sentences = re.search(r'<section id="sentences".*?</section>', text, re.DOTALL)
    assert first and "<details" not in first[0] and first[0].count("Item ") == 900
    assert sentences and "<details" not in sentences[0]


def test_a_chart_says_with_a_band_when_the_coach_was_closed() -> None:
    assert timeline(time_chart()).count("<rect") == 2  # and one in the legend
    without = dataclasses.replace(time_chart(), away=())
    assert timeline(without).count("<rect") == 1


def test_names_in_a_chart_are_cut_only_where_the_width_is_used_up() -> None:
    name = "linear regulator of the second analogue supply (Supply for the sensors)"
    drawn = [
        said for tag, said in Page(html_of(with_names(small_report(), name))).texts if tag == "text"
    ]
    assert f"{name}: junction" in drawn  # at the desk


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
