"""The bring-up sheet in a real browser: two sheets of paper, telephone and desk, light and dark."""

from __future__ import annotations

import base64
import re
import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from coach.bringup.printing import html_of
from coach.sprint.brief.loading import load_brief
from coach.sprint.rehearsal.rehearse import rehearse
from tests.bringup.conftest import Bench, maker
from tests.bringup.made_briefs import made_brief

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(
        not (BROWSER and DRIVER), reason="chromium and chromedriver are not installed"
    ),
]

BRIEFS = ("usb-bench-meter", "orchard-radio-tag", "pump-driver-24v")
PAPER = {"A4": (8.27, 11.69), "letter": (8.5, 11.0)}
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.binary_location = str(BROWSER)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Sheets of the bundled briefs, as an engineer who forgets much leaves them, and of a board
    that makes a long one; one is filled in."""
    folder, sheets = tmp_path_factory.mktemp("pages"), {}
    for brief in BRIEFS:
        rehearsed = Bench(folder / f"{brief}.toml")
        rehearse(load_brief(brief), seed=3, forget=0.3, path=rehearsed.path)
        sheets[brief] = rehearsed.sheet
    for board in ("1", "2"):
        rehearsed.measure(board, "rail.3v3.voltage", "3.31 V")
        rehearsed.measure(board, "rail.5v.voltage", "4.1 V")
    sheets["pump"] = rehearsed.sheet
    everything = made_brief(supply="d", regulator="s", clock="w", interfaces="uistcrma")
    sheets["everything"] = maker(folder)(everything).sheet
    found = {}
    for name, sheet in sheets.items():
        found[name] = folder / f"{name}.html"
        found[name].write_text(html_of(sheet), encoding="utf-8")
    return found


def command(browser: Chrome, name: str, **given: Any) -> Any:
    return browser.execute_cdp_cmd(name, given)


def shown(browser: Chrome, page: Path, width: int = 1280, scheme: str = "light") -> None:
    command(
        browser,
        "Emulation.setDeviceMetricsOverride",
        width=width,
        height=900,
        deviceScaleFactor=1,
        mobile=False,
    )
    command(
        browser,
        "Emulation.setEmulatedMedia",
        features=[{"name": "prefers-color-scheme", "value": scheme}],
    )
    browser.get(page.as_uri())


def printed(browser: Chrome, paper: str) -> int:
    """The pages it takes to print."""
    from selenium.common.exceptions import WebDriverException

    width, height = PAPER[paper]
    for trial in range(3):
        try:
            made = command(browser, "Page.printToPDF", paperWidth=width, paperHeight=height)
            return len(re.findall(rb"/Type\s*/Page[^s]", base64.b64decode(made["data"])))
        except WebDriverException:  # a busy machine prints nothing now and then
            if trial == 2:
                raise
    raise AssertionError


@pytest.mark.parametrize("paper", PAPER)
def test_every_sheet_prints_on_two_pages(
    browser: Chrome, pages: dict[str, Path], paper: str
) -> None:
    taken = {}
    for name, page in pages.items():
        shown(browser, page)
        taken[name] = printed(browser, paper)
    assert max(taken.values()) <= 2, taken


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_nothing_lies_beyond_the_edge(browser: Chrome, pages: dict[str, Path], width: int) -> None:
    for name, page in pages.items():
        shown(browser, page, width)
        wide = browser.execute_script("return document.documentElement.scrollWidth")
        assert wide <= width, name
        beyond = browser.execute_script(
            "return [...document.querySelectorAll('main *')].filter(e => e.getClientRects().length"
            " && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML)"
        )
        assert not beyond, name


def test_sections_follow_each_other_without_overlap(
    browser: Chrome, pages: dict[str, Path]
) -> None:
    for width in (360, 1280):
        shown(browser, pages["pump"], width)
        boxes = browser.execute_script(
            "return [...document.querySelectorAll('header, section, footer')]"
            ".map(e => e.getBoundingClientRect()).map(r => [r.top, r.bottom])"
        )
        assert all(a[1] <= b[0] + 0.5 for a, b in pairwise(boxes))


def test_it_says_nothing_to_the_console_and_asks_for_nothing(
    browser: Chrome, pages: dict[str, Path]
) -> None:
    browser.get_log("browser")
    shown(browser, pages["pump"])
    assert browser.get_log("browser") == []
    assert browser.execute_script("return performance.getEntriesByType('resource').length") == 0


_COLOURS = """
const of = e => getComputedStyle(e).color;
const back = getComputedStyle(document.body).backgroundColor;
return [back, [...new Set([...document.querySelectorAll('main *')]
  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())).map(of))]]
"""


def test_every_text_can_be_read_in_light_and_dark(browser: Chrome, pages: dict[str, Path]) -> None:
    backs = []
    for scheme in ("light", "dark"):
        shown(browser, pages["pump"], scheme=scheme)
        back, colours = browser.execute_script(_COLOURS)
        backs.append(back)
        assert len(colours) >= 4
        for colour in colours:
            # WCAG 2.1, 1.4.3: text of this size at 4.5 to 1.
            assert contrast(colour, back) >= 4.5, (scheme, colour, back)
    assert len(set(backs)) == 2


def contrast(first: str, second: str) -> float:
    """WCAG 2.1, "contrast ratio", of two colours as a browser says them."""
    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def luminance(colour: str) -> float:
    parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_a_place_to_write_is_as_tall_as_a_line_by_hand(
    browser: Chrome, pages: dict[str, Path]
) -> None:
    for name, page in pages.items():
        shown(browser, page, width=794)
        command(browser, "Emulation.setEmulatedMedia", media="print")
        least = browser.execute_script(
            "return Math.min(...[...document.querySelectorAll('td.place')]"
            ".map(e => e.getBoundingClientRect().height))"
        )
        command(browser, "Emulation.setEmulatedMedia", media="")
        # 13 pt, which is 4.6 mm.
        assert least >= 17, name
