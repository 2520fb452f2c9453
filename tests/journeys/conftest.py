"""Terminals that are closed when a journey is over, however it ended."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.journeys.terminal import Terminal

Opens = Callable[..., Terminal]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The home folder of the person at the terminal, in which they also stand."""
    folder = tmp_path / "home"
    folder.mkdir()
    return folder


@pytest.fixture
def coach(home: Path) -> Iterator[Opens]:
    """Opens a terminal with `coach` and these words in it; options as for Terminal."""
    opened: list[Terminal] = []

    def run(*words: str, **options: Any) -> Terminal:
        opened.append(Terminal(*words, home=home, **options))
        return opened[-1]

    yield run
    for terminal in opened:
        terminal.close()
