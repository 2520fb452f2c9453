"""The coach as it lies on a machine without this checkout: packages, and its data inside them."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.journeys.terminal import ROOT


def installed(folder: Path) -> Path:
    """Both packages and their data, laid out as in the wheel; the folder to find them in."""
    for package in ("coach", "phases"):
        shutil.copytree(ROOT / package, folder / package)
    shutil.copytree(ROOT / "shared", folder / "phases" / "shared")
    return folder
