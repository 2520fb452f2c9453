"""Chromium without a window, and pages of the debrief to open in it.

Where Chromium or its driver is not installed, what is in this folder is skipped.
"""

from __future__ import annotations

import base64
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

from coach.bringup.rehearsed import bring_up
from coach.report.html import html_of
from coach.report.sections import Report
from coach.sprint.brief.loading import load_brief
from coach.sprint.rehearsal.rehearse import rehearse
from tests.report.conftest import reported
from tests.report.sample_report import small_report, with_texts

REHEARSED = {
    "usual": ("usb-bench-meter", {"seed": 3, "forget": 0.1}),
    "given-up": ("pump-driver-24v", {"seed": 5, "forget": 0.2, "overlook": 0.3, "pace": 1.3}),
}
"""Sprints by name; the second has boards with many faults."""

FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)

A4, LETTER = (8.27, 11.69), (8.5, 11.0)
"""Sheets in inches."""


class Browser:
    """One browser: what it is shown, what it says of it."""

    def __init__(self, driver: webdriver.Chrome) -> None:
        self.driver = driver

    def open(self, page: Path, width: int = 1280, scheme: str = "light") -> None:
        """Shows a page at a width; what was logged before is forgotten."""
        self.tell(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=900,
            deviceScaleFactor=1,
            mobile=False,
        )
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.tell("Emulation.setEmulatedMedia", media="", features=features)
        self.driver.get_log("performance")
        self.driver.get_log("browser")
        self.driver.get(page.as_uri())

    def tell(self, command: str, **given: Any) -> dict[str, Any]:
        answer: dict[str, Any] = self.driver.execute_cdp_cmd(command, given)
        return answer

    def ask(self, script: str) -> Any:
        """What a script, run from outside the page, returns."""
        return self.driver.execute_script(script)

    def asked_for(self) -> list[str]:
        """Addresses the page has asked for since it was opened."""
        messages = [json.loads(e["message"])["message"] for e in self.driver.get_log("performance")]
        return [
            message["params"]["request"]["url"]
            for message in messages
            if message["method"] == "Network.requestWillBeSent"
        ]

    def complaints(self) -> list[str]:
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def on_paper(self) -> None:
        """From now on the page is as it is printed, on a sheet as wide as A4."""
        self.tell(
            "Emulation.setDeviceMetricsOverride",
            width=718,
            height=1000,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.tell(
            "Emulation.setEmulatedMedia",
            media="print",
            features=[{"name": "prefers-color-scheme", "value": "dark"}],
        )

    def sheets(self, size: tuple[float, float]) -> int:
        """How many sheets the page is printed on, with the margins it asks for."""
        width, height = size
        printed = base64.b64decode(
            self.tell(
                "Page.printToPDF",
                paperWidth=width,
                paperHeight=height,
                printBackground=True,
                marginTop=0.354,
                marginBottom=0.354,
                marginLeft=0.394,
                marginRight=0.394,
            )["data"]
        )
        return len(re.findall(rb"/Type\s*/Page\b", printed))


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if program is None or driver is None:
        missing = "chromium" if program is None else "chromedriver"
        pytest.skip(f"{missing} is not installed (Debian: apt install chromium chromium-driver)")
    home = tmp_path_factory.mktemp("browser")
    options = Options()
    options.binary_location = program
    for flag in (*FLAGS, f"--user-data-dir={home / 'data'}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = Service(driver, env={"HOME": str(home), "PATH": "/usr/bin:/bin", "TZ": "UTC"})
    started = webdriver.Chrome(options=options, service=service)
    try:
        yield Browser(started)
    finally:
        started.quit()


@pytest.fixture(scope="module")
def reports(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Report]:
    """By name: the small one, hostile and long texts, rehearsed sprints."""
    folder = tmp_path_factory.mktemp("journals")
    hostile = " <script>document.title = 'taken'</script><img src=x onerror=alert(1)>"
    told = {
        "small": small_report(),
        "hostile": with_texts(small_report(), hostile),
        "long": with_texts(small_report(), " " + "W" * 60 + " of no end" * 30),
    }
    for name, (brief, how) in REHEARSED.items():
        path = folder / f"{name}.toml"
        rehearse(load_brief(brief), path=path, **how)
        if name == "given-up":
            bring_up(path, seed=1, boards=2)
        told[name] = reported(path)
    return told


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory, reports: dict[str, Report]) -> dict[str, Path]:
    """The page of each."""
    folder = tmp_path_factory.mktemp("pages")
    found = {}
    for name, report in reports.items():
        found[name] = folder / f"{name}.html"
        found[name].write_text(html_of(report), encoding="utf-8")
    return found
