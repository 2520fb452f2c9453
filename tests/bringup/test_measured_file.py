"""Readings from a file: TOML for one board, CSV for several; all of them, or none."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.bringup.form import entries_in
from coach.sprint.commands import MeasurePoint
from phases.kit.refusals import Refusal
from tests.bringup.conftest import Bench, Make

TOML = """
board = "1"
[readings]
"rail.3v3.voltage" = "3.31 V"
rail.vbus.voltage = 5.02
"look.polarity" = "all right"
"""
CSV = """board,point,reading
1,rail.3v3.voltage,3.31 V
B07, rail.3v3.voltage, "3.29 V"

1,look.polarity,"one turned, mended"
"""


@pytest.fixture(scope="module")
def meter(make_once: Make) -> Bench:
    return make_once("usb-bench-meter")


def taken(bench: Bench, name: str, text: str) -> list[MeasurePoint]:
    path = bench.path.parent / name
    path.write_text(text, encoding="utf-8")
    return [one.command for one in entries_in(path, bench.sheet)]


def refused(bench: Bench, name: str, text: str) -> str:
    with pytest.raises(Refusal) as fault:
        taken(bench, name, text)
    return str(fault.value)


def test_a_toml_file_holds_the_readings_of_one_board(meter: Bench) -> None:
    found = {one.point: (one.board, one.text) for one in taken(meter, "a.toml", TOML)}
    assert found == {
        "rail.3v3.voltage": ("1", "3.31 V"),
        "rail.vbus.voltage": ("1", "5.02 V"),
        "look.polarity": ("1", "all right"),
    }


def test_a_csv_file_holds_several_boards(meter: Bench) -> None:
    found = [(one.board, one.point, one.text) for one in taken(meter, "a.csv", CSV)]
    assert found == [
        ("1", "rail.3v3.voltage", "3.31 V"),
        ("B07", "rail.3v3.voltage", "3.29 V"),
        ("1", "look.polarity", "one turned, mended"),
    ]


def test_a_file_saved_by_a_spreadsheet_is_read(meter: Bench) -> None:
    path = meter.path.parent / "a.csv"
    path.write_bytes("Board,Point,Reading\r\n1,rail.3v3.voltage,3.31 V\r\n".encode("utf-8-sig"))
    assert len(entries_in(path, meter.sheet)) == 1


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        (
            "a.toml",
            TOML.replace("3v3.voltage", "3v3.volts"),
            "line 4, rail.3v3.volts: There is no point 'rail.3v3.volts'. Nearest: rail.3v3.voltage",
        ),
        (
            "a.toml",
            TOML.replace("3.31 V", "3,31 V"),
            "line 4, rail.3v3.voltage: '3,31 V' has a comma in a number.",
        ),
        ("a.toml", TOML.replace("5.02", "true"), "line 5, rail.vbus.voltage: A reading is a text"),
        ("a.toml", TOML.replace('board = "1"', ""), "board: The key 'board' is missing"),
        ("a.toml", TOML.replace('"1"', '"1 / 2"'), "'1 / 2' is not a board number"),
        (
            "a.toml",
            TOML.replace("[readings]", "[reading]"),
            "line 3, reading: There is no key 'reading'. Nearest: readings.",
        ),
        ("a.toml", 'board = "1"\n', "readings: The key 'readings' is missing"),
        ("a.toml", 'board = "1"\n[readings]\n', "The file holds no readings"),
        ("a.toml", 'board = "1', "Not valid TOML"),
        ("a.csv", CSV.replace("board,", "unit,"), "line 1: The first line does not name"),
        ("a.csv", CSV.replace("3.31 V", "3.31 A"), "line 2, rail.3v3.voltage: A is not a unit of"),
        ("a.csv", CSV.replace(",3.31 V", ""), "line 2: Found 2 fields; expected 3."),
        ("a.csv", CSV + "1,rail.3v3.voltage,3.3\n", "line 6, rail.3v3.voltage: Board 1 has two"),
        ("a.csv", "board,point,reading\n1,rail.3v3.voltage,\n", "Every point is left blank."),
        ("a.csv", "", "The file holds no readings"),
        ("a.csv", 'board,point,reading\n1,a,"b', "Not readable as CSV"),
    ],
)
def test_a_fault_is_said_with_file_line_and_key(
    meter: Bench, name: str, text: str, words: str
) -> None:
    sentence = refused(meter, name, text)
    assert sentence.startswith(str(meter.path.parent / name))
    assert words in sentence
    assert sentence.count("\n") == 0


def test_an_unknown_point_is_answered_with_the_three_nearest_and_the_way_to_all(
    meter: Bench,
) -> None:
    sentence = refused(meter, "a.csv", CSV.replace("rail.3v3.voltage,3.31", "rail.3v3.volts,3.31"))
    nearest = sentence.partition("Nearest: ")[2].partition(". --form")[0].split(", ")
    assert len(nearest) == 3
    assert nearest[0] == "rail.3v3.voltage"
    assert set(nearest) <= set(meter.sheet.by_id)
    assert sentence.endswith("--form FILE writes all of them to be filled in.")


def test_a_file_that_is_not_there_is_one_sentence(meter: Bench) -> None:
    with pytest.raises(Refusal, match="There is no file of readings here"):
        entries_in(Path("nowhere.csv"), meter.sheet)
