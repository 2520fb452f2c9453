"""Forged and odd journals: whatever is whole is on the sheet, and nothing raises."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from coach.debrief.bringup.as_json import json_of
from coach.debrief.bringup.page import html_of
from coach.debrief.bringup.planning import sheet_of
from coach.debrief.bringup.printing import text_of
from coach.debrief.bringup.sheet import Sheet
from coach.history.read_sprint import SprintRead, read_sprint
from coach.sprint.state import Measured, Saved
from tests.debrief.bringup.conftest import Make

CALCULATIONS = (
    "type-c-sink@j-usb", "load-budget", "drop-chain@vbus", "linear-regulator@3v3",
    "output-capacitor@3v3", "debug-wiring", "strap", "capacitor-schedule", "indicator@3v3",
)  # fmt: skip


def _name(odd: object) -> str:
    return repr(odd)[:12]


ODD: tuple[Any, ...] = (
    None, "text", "<b>\x1b[31m", float("nan"), float("inf"), -1e308, 1e308, 10**400, True, [], {},
    [1, 2], [3.0, 2.0, 1.0], ["a", "b", "c"], {"min": 1}, "x" * 400,
)  # fmt: skip


@pytest.fixture(scope="module")
def read(make_once: Make) -> SprintRead:
    return read_sprint(make_once("usb-bench-meter", *CALCULATIONS).path)


def forged(read: SprintRead, change: Callable[[dict[str, Any]], dict[str, Any]]) -> Sheet:
    """The sheet of a sprint whose records were changed by hand, and shown every way."""
    calculations = {
        name: Saved(saved.id, change(dict(saved.record)), saved.t)
        for name, saved in read.state.calculations.items()
    }
    sheet = sheet_of(replace(read, state=replace(read.state, calculations=calculations)))
    assert text_of(sheet) and html_of(sheet) and json_of(sheet)
    assert {"rail.vbus.voltage", "rail.3v3.voltage", "heat.board"} <= set(sheet.by_id)
    return sheet


@pytest.mark.parametrize("odd", ODD, ids=_name)
@pytest.mark.parametrize(
    "part", ["published", "outputs", "inputs", "limits", "parts", "verdict", "calculator",
             "subject", "findings"],
)  # fmt: skip
def test_a_part_of_a_record_may_be_anything(read: SprintRead, part: str, odd: Any) -> None:
    forged(read, lambda record: {**record, part: odd})


@pytest.mark.parametrize("odd", ODD, ids=_name)
def test_a_figure_may_be_anything(read: SprintRead, odd: Any) -> None:
    def change(record: dict[str, Any]) -> dict[str, Any]:
        return {
            **record,
            "published": dict.fromkeys(record["published"], odd),
            "outputs": {name: {**entry, "min": odd, "rows": odd} if n % 2 else odd
                        for n, (name, entry) in enumerate(record["outputs"].items())},
            "limits": [{**one, "share": odd, "bound": odd, "says": odd, "verdict": "marginal"}
                       for one in record["limits"]],
        }  # fmt: skip

    forged(read, change)


def test_a_record_may_be_empty(read: SprintRead) -> None:
    sheet = forged(read, lambda record: {})
    assert sheet.by_id["rail.3v3.voltage"].basis == "brief"


def test_a_value_of_the_brief_may_be_anything(read: SprintRead) -> None:
    declared = {
        "rail.3v3.window": "3,3 V", "rail.vbus.window": 7, "load.mcu.peak": "lots",
        "clock.main.frequency": "", "board.consumers": "none",
    }  # fmt: skip
    sheet = sheet_of(replace(read, state=replace(read.state, declared=declared)))
    assert "rail.3v3.resistance" in sheet.by_id
    assert sheet.by_id["clock.main.frequency"].missing
    assert text_of(sheet) and html_of(sheet)


def test_a_reading_at_a_point_the_sheet_does_not_have_is_shown(read: SprintRead) -> None:
    measured = {
        ("1", "rail.9v.voltage"): Measured(
            "1", "rail.9v.voltage", "9 V <rail>", "9.1 V", 9.1, "V", 8.9, 9.3, "inside"
        )
    }
    sheet = sheet_of(replace(read, state=replace(read.state, measured=measured)))
    assert "board 1, 9 V <rail>: 9.1 V, inside" in text_of(sheet)
    assert "9 V &lt;rail&gt;" in html_of(sheet)


def test_a_torn_journal_still_gives_a_sheet(make: Make, tmp_path: Path) -> None:
    bench = make("usb-bench-meter", "load-budget")
    torn = tmp_path / "torn.toml"
    torn.write_bytes(bench.path.read_bytes()[:-40])
    sheet = sheet_of(read_sprint(torn))
    assert sheet.faults
    assert "rail.3v3.voltage" in sheet.by_id
