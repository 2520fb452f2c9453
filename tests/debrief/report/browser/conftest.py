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

from coach.debrief.account.telling import account_of
from coach.debrief.report.html import html_of
from coach.history.read_sprint import read_sprint
from tests.debrief.sample_account import small_account, with_texts

SAMPLES = sorted((Path(__file__).resolve().parents[4] / "sessions").glob("*.toml"))

FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--hide-scrollbars",
)  # fmt: skip

A4, LETTER = (8.27, 11.69), (8.5, 11.0)
"""Sheets in inches."""


class Browser:
    """One browser: what it is shown, what it says of it."""

    def __init__(self, driver: webdriver.Chrome) -> None:
        self.driver = driver

    def open(self, page: Path, width: int = 1280, scheme: str = "light") -> None:
        """Shows a page at a width; what was logged before is forgotten."""
        self.tell("Emulation.setDeviceMetricsOverride", width=width, height=900,
                  deviceScaleFactor=1, mobile=False)  # fmt: skip
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.tell("Emulation.setEmulatedMedia", features=features)
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
            for message in messages if message["method"] == "Network.requestWillBeSent"
        ]  # fmt: skip

    def complaints(self) -> list[str]:
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def sheets(self, size: tuple[float, float]) -> int:
        """How many sheets the page is printed on, with the margins it asks for."""
        width, height = size
        printed = base64.b64decode(self.tell(
            "Page.printToPDF", paperWidth=width, paperHeight=height, printBackground=True,
            marginTop=0.354, marginBottom=0.354, marginLeft=0.394, marginRight=0.394,
        )["data"])  # fmt: skip
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
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Pages by name: the small account, hostile and long texts, every sample journal."""
    folder = tmp_path_factory.mktemp("pages")
    hostile = " <script>document.title = 'taken'</script><img src=x onerror=alert(1)>"
    told = {
        "small": small_account(),
        "hostile": with_texts(small_account(), hostile),
        "long": with_texts(small_account(), " " + "W" * 60 + " of no end" * 30),
        **{path.stem: account_of(read_sprint(path)) for path in SAMPLES},
    }
    found = {}
    for name, account in told.items():
        found[name] = folder / f"{name}.html"
        found[name].write_text(html_of(account), encoding="utf-8")
    return found
