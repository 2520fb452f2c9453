"""The sheet as text, as a page and as JSON."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from coach.bringup.printing import html_of, json_of, text_of, write_sheet
from coach.bringup.sheet import Sheet
from phases.kit.refusals import Refusal
from tests.bringup.conftest import Bench, Make
from tests.bringup.made_briefs import made_brief

HOSTILE = "<script>alert(1)</script> & {{ 7*7 }} [/] \"'"


@pytest.fixture
def meter(make: Make) -> Bench:
    return make("usb-bench-meter", "load-budget", "drop-chain@vbus", "linear-regulator@3v3")


# ---- text ------------------------------------------------------------------------------------


def test_the_text_keeps_to_eighty_columns(meter: Bench) -> None:
    text = text_of(meter.sheet, tuple("123456789"))
    lines = [line for line in text.splitlines() if not line.startswith("Journal: ")]
    assert max(map(len, lines)) <= 80


def test_the_text_has_a_place_for_each_board_at_each_step(meter: Bench) -> None:
    sheet = meter.sheet
    assert text_of(sheet, ("1", "2")).count("[2] ____") == len(sheet.steps)


def test_the_text_names_the_point_of_each_step(meter: Bench) -> None:
    sheet = meter.sheet
    ends = [line.rpartition("(")[2] for line in text_of(sheet).splitlines() if len(line) == 80]
    assert {f"{step.id})" for step in sheet.steps} <= set(ends)


def test_what_was_measured_stands_in_its_place(meter: Bench) -> None:
    meter.measure("2", "rail.3v3.voltage", "3.31 V")
    meter.measure("2", "rail.vbus.voltage", "4.2 V")
    text = text_of(meter.sheet)
    assert "[2] 3.31 V, inside" in text
    assert "[2] 4.2 V, outside" in text


def test_the_text_says_from_what_each_expectation_comes(meter: Bench) -> None:
    text = text_of(meter.sheet)
    assert "calculated: Linear regulator (Main supply)" in text
    assert "brief: 3.1 .. 3.4 V" in text
    assert "missing: Strap was not saved" in text


def test_the_sheet_of_a_sprint_that_goes_on_says_so(make: Make) -> None:
    sheet = make("usb-bench-meter", end=False).sheet
    assert "The sprint goes on" in text_of(sheet)
    assert "The sprint goes on" in html_of(sheet)


def test_the_boards_measured_before_stand_beside_those_asked_for(meter: Bench) -> None:
    meter.measure("1", "rail.3v3.voltage", "3.31 V")
    assert meter.sheet.columns(("2", "3")) == ("1", "2", "3")


# ---- page ------------------------------------------------------------------------------------


class Seen(HTMLParser):
    """Tags, their attributes, and the words between them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.words += data


def test_the_page_asks_for_nothing_and_runs_nothing(meter: Bench) -> None:
    text = html_of(meter.sheet)
    seen = Seen(text)
    assert "script" not in seen.tags
    assert not {"src", "href", "srcset", "action"} & {name for name, _ in seen.attributes}
    assert not [name for name, _ in seen.attributes if name.startswith("on")]
    for word in ("http:", "https:", "url(", "@import"):
        assert word not in text


def test_the_page_has_every_step_and_a_column_for_each_board(meter: Bench) -> None:
    sheet = meter.sheet
    seen = Seen(html_of(sheet, ("1", "2")))
    rows = [value for name, value in seen.attributes if name == "id"]
    assert {step.id for step in sheet.steps} <= set(rows)
    boards = [value for name, value in seen.attributes if name == "data-board"]
    assert boards == ["1", "2"] * len(sheet.steps)


def test_whatever_was_typed_stays_text(make: Make) -> None:
    bench = make(made_brief(HOSTILE))
    bench.measure("1", "look.polarity", HOSTILE)
    text = html_of(bench.sheet)
    seen = Seen(text)
    assert "script" not in seen.tags
    assert "<script" not in text
    assert seen.words.count("alert(1)") >= 3  # title, heading, reading


def test_every_text_of_a_sheet_is_escaped(meter: Bench) -> None:
    sheet = meter.sheet
    bad = "<i>x</i>"
    steps = tuple(
        replace(
            step,
            title=bad,
            do=bad,
            where=bad,
            why=bad,
            caution=bad,
            missing=bad,
            expected=replace(step.expected, words=bad),
        )
        for step in sheet.steps
    )
    hostile = replace(sheet, title=bad, journal=bad, steps=steps, cautions=(bad,), faults=(bad,))
    assert "i" not in Seen(html_of(hostile)).tags


_SCRIPT = """
import sys
from pathlib import Path
from coach.bringup.planning import sheet_of
from coach.bringup.printing import html_of
from coach.history.read_sprint import read_sprint
sys.stdout.buffer.write(html_of(sheet_of(read_sprint(Path(sys.argv[1])))).encode())
"""


def test_the_same_journal_gives_the_same_bytes(meter: Bench) -> None:
    found = {
        subprocess.run(
            [sys.executable, "-c", _SCRIPT, str(meter.path)],
            check=True,
            capture_output=True,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
            cwd=Path(__file__).parents[2],
        ).stdout
        for seed in ("1", "2")
    }
    assert len(found) == 1


def test_only_an_earlier_sheet_gives_way(meter: Bench, tmp_path: Path) -> None:
    page, other = tmp_path / "sheet.html", tmp_path / "notes.html"
    write_sheet(page, html_of(meter.sheet))
    write_sheet(page, html_of(meter.sheet))
    other.write_text("<!doctype html><title>Mine</title>")
    for path in (other, meter.path):
        before = path.read_bytes()
        with pytest.raises(Refusal, match="not a bring-up sheet"):
            write_sheet(path, "x")
        assert path.read_bytes() == before


def test_importing_the_sheet_brings_no_template_engine() -> None:
    code = (
        "import sys, coach.bringup.planning, coach.bringup.printing, coach.bringup.form; "
        "print({'jinja2', 'numpy', 'pint', 'matplotlib'} & set(sys.modules))"
    )
    out = subprocess.run(
        [sys.executable, "-c", code],
        check=True,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert out.stdout.strip() == "set()"


# ---- JSON ------------------------------------------------------------------------------------


def test_the_json_holds_steps_and_readings(meter: Bench) -> None:
    meter.measure("1", "rail.3v3.voltage", "3.31 V")
    sheet: Sheet = meter.sheet
    document = json.loads(json_of(sheet))
    assert [step["id"] for step in document["steps"]] == [step.id for step in sheet.steps]
    by_id = {step["id"]: step for step in document["steps"]}
    assert by_id["rail.3v3.voltage"]["expected"]["low"] == pytest.approx(3.2)
    assert document["readings"][0]["verdict"] == "inside"
