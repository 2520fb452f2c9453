"""An empty file of readings: every point in the order of the sheet, to be filled in."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.bringup.form import csv_form, entries_in, toml_form, write_form
from coach.sprint.commands import NoteFinding
from phases.kit.refusals import Refusal
from phases.kit.text import one_line
from tests.bringup.conftest import Bench, Make

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
        assert f"# {step.title}: {one_line(step.expected.in_words)}" in lines


@pytest.mark.parametrize("name", ["form.toml", "form.csv"])
def test_a_form_that_is_filled_in_bit_by_bit_is_read(
    meter: Bench, tmp_path: Path, name: str
) -> None:
    sheet, path = meter.sheet, tmp_path / name
    write_form(path, sheet, ("1", "2"))
    with pytest.raises(Refusal, match="Every point is left blank"):
        entries_in(path, sheet)
    text = path.read_text(encoding="utf-8")
    for blank, filled in (
        (f'"{RAIL}" = ""', f'"{RAIL}" = "3.31"'),
        (f"1,{RAIL},,", f"1,{RAIL},3.31,"),
    ):
        text = text.replace(blank, filled)
    path.write_text(text, encoding="utf-8")
    ((typed, one),) = entries_in(path, sheet)
    assert (typed, one.board, one.point, one.text) == ("3.31", "1", RAIL, "3.31 V")


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


def test_a_cell_that_a_spreadsheet_would_run_is_kept_a_text(meter: Bench) -> None:
    meter.do(NoteFinding("=1+1"))
    assert ',\'=1+1,"no, or reworked"' in csv_form(meter.sheet, ("1",))
