"""Damaged and odd journals: whatever is intact is on the sheet, and nothing raises."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from coach.bringup.planning import sheet_of
from coach.bringup.printing import html_of, json_of, text_of
from coach.bringup.sheet import Sheet
from coach.history.read_sprint import SprintRead, read_sprint
from coach.sprint.events.afterwards import PointMeasured
from coach.sprint.state import SavedCalculation
from phases.kit.record import Record
from tests.bringup.conftest import Make

CALCULATIONS = (
    "type-c-sink@j-usb",
    "load-budget",
    "drop-chain@vbus",
    "linear-regulator@3v3",
    "output-capacitor@3v3",
    "debug-wiring",
    "strap",
    "capacitor-schedule",
    "indicator@3v3",
)


@pytest.fixture(scope="module")
def read(make_once: Make) -> SprintRead:
    return read_sprint(make_once("usb-bench-meter", *CALCULATIONS).path)


def shown(read: SprintRead, **fields: Any) -> Sheet:
    """The sheet of a sprint with other fields in its state, shown every way."""
    sheet = sheet_of(replace(read, state=replace(read.state, **fields)))
    assert text_of(sheet) and html_of(sheet) and json_of(sheet)
    assert {"rail.vbus.voltage", "rail.3v3.voltage", "heat.board"} <= set(sheet.by_id)
    return sheet


def edited(read: SprintRead, change: Callable[[dict[str, Any]], dict[str, Any]]) -> Sheet:
    """The sheet of a sprint whose records were edited, as far as a record can be."""
    return shown(
        read,
        calculations={
            key: SavedCalculation(
                saved.id, Record.model_validate(change(saved.record.model_dump())), saved.t
            )
            for key, saved in read.state.calculations.items()
        },
    )


@pytest.mark.parametrize("part", ["outputs", "inputs"])
def test_a_record_may_have_lost_its_figures(read: SprintRead, part: str) -> None:
    sheet = edited(read, lambda record: {**record, part: {}})
    assert sheet.by_id["rail.3v3.voltage"].basis == ("brief" if part == "outputs" else "calculated")


@pytest.mark.parametrize("part", ["limits", "parts", "findings", "drivers", "remedies"])
def test_a_record_may_have_lost_a_list(read: SprintRead, part: str) -> None:
    edited(read, lambda record: {**record, part: []})


def test_a_record_that_gives_no_figure_says_so(read: SprintRead) -> None:
    def without(record: dict[str, Any]) -> dict[str, Any]:
        for one in record["outputs"].values():
            if one["bench"]:
                one["bench"] |= {"low": None, "typ": None, "high": None, "words": ""}
        return record

    step = edited(read, without).by_id["strap.level"]
    assert (step.basis, step.missing) == ("nothing", "Strap gives no figure for it")


@pytest.mark.parametrize("end", [-1e18, -1.0, 0.0, 1e-300, 1e18])
def test_a_figure_may_be_absurd(read: SprintRead, end: float) -> None:
    def change(record: dict[str, Any]) -> dict[str, Any]:
        for one in record["outputs"].values():
            one |= {"min": end, "typ": end, "max": end}
            if one["bench"]:
                one["bench"] |= {"low": end, "typ": end, "high": end}
        return record

    edited(read, change)


def test_a_value_of_the_brief_may_be_anything(read: SprintRead) -> None:
    declared = {
        "rail.3v3.window": "3,3 V",
        "rail.vbus.window": "7 bananas",
        "load.mcu.peak": "lots",
        "clock.main.frequency": "",
    }
    sheet = shown(read, declared=declared, calculations={})
    assert sheet.by_id["rail.3v3.voltage"].missing == "Linear regulator (Main supply) was not saved"
    assert sheet.by_id["rail.3v3.resistance"].missing == "The brief gives no voltage of 3v3"
    assert sheet.by_id["clock.main.frequency"].missing == "The brief gives no frequency of main"


def test_a_reading_at_a_point_the_sheet_does_not_have_is_shown(read: SprintRead) -> None:
    one = PointMeasured(
        board="1",
        point="rail.9v.voltage",
        title="9 V <rail>",
        text="9.1 V",
        value=9.1,
        unit="V",
        low=8.9,
        high=9.3,
        verdict="inside",
    )
    sheet = shown(read, measured={("1", one.point): one})
    assert "board 1, 9 V <rail>: 9.1 V, inside" in text_of(sheet)
    assert "9 V &lt;rail&gt;" in html_of(sheet)


def test_a_torn_journal_still_gives_a_sheet(make: Make, tmp_path: Path) -> None:
    bench = make("usb-bench-meter", "load-budget")
    torn = tmp_path / "torn.toml"
    torn.write_bytes(bench.path.read_bytes()[:-40])
    sheet = sheet_of(read_sprint(torn))
    assert sheet.faults
    assert "DAMAGED" in text_of(sheet)
    assert "rail.3v3.voltage" in sheet.by_id
