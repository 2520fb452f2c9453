"""An empty file of readings: every point in the order of the sheet, to be filled in."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.debrief.bringup.figures import expected_words
from coach.debrief.bringup.form import csv_form, toml_form, write_form
from coach.debrief.bringup.measured_file import measurements_in
from coach.history.read_sprint import read_sprint
from phases.kit.refusals import Refusal
from phases.kit.text import line
from tests.debrief.bringup.conftest import Bench, Make

RAIL = "rail.3v3.voltage"


@pytest.fixture
def meter(make: Make) -> Bench:
    return make("usb-bench-meter", "load-budget", "drop-chain@vbus", "linear-regulator@3v3")


def test_every_point_stands_there_with_its_title_and_what_is_expected(meter: Bench) -> None:
    sheet = meter.sheet
    lines = toml_form(sheet, "1").splitlines()
    places = [lines.index(f'"{step.id}" = ""') for step in sheet.steps]
    assert places == sorted(places)
    for step in sheet.steps:
        assert f"# {step.title}: {line(expected_words(step.expected))}" in lines


@pytest.mark.parametrize("name", ["form.toml", "form.csv"])
def test_a_form_that_is_filled_in_bit_by_bit_is_read(
    meter: Bench, tmp_path: Path, name: str
) -> None:
    sheet, state, path = meter.sheet, read_sprint(meter.path).state, tmp_path / name
    write_form(path, sheet, ("1", "2"))
    with pytest.raises(Refusal, match="Every point is left blank"):
        measurements_in(path, sheet, state)
    text = path.read_text(encoding="utf-8")
    for blank, filled in (
        (f'"{RAIL}" = ""', f'"{RAIL}" = "3.31"'),
        (f"1,{RAIL},,", f"1,{RAIL},3.31,"),
    ):
        text = text.replace(blank, filled)
    path.write_text(text, encoding="utf-8")
    (one,) = measurements_in(path, sheet, state)
    assert (one.board, one.point, one.text) == ("1", RAIL, "3.31 V")


def test_a_form_of_one_board_is_for_the_first_that_was_not_measured(
    meter: Bench, tmp_path: Path
) -> None:
    meter.measure("1", RAIL, "3.31 V")
    assert write_form(tmp_path / "a.toml", meter.sheet, ("1", "2")) == "2"
    assert 'board = "2"' in (tmp_path / "a.toml").read_text(encoding="utf-8")


def test_a_table_has_every_point_for_each_board(meter: Bench) -> None:
    sheet = meter.sheet
    rows = csv_form(sheet, ("1", "B07")).splitlines()
    assert rows[0] == "board,point,reading,title,expected"
    assert len(rows) == 1 + 2 * len(sheet.steps)


def test_a_form_never_takes_the_place_of_a_file(meter: Bench, tmp_path: Path) -> None:
    path = tmp_path / "form.toml"
    path.write_text("mine")
    with pytest.raises(Refusal, match="perhaps filled in"):
        write_form(path, meter.sheet, ("1",))
    assert path.read_text() == "mine"
