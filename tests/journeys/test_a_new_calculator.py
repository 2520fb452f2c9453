"""A calculator is one file in its phase: with it, and no other file touched, it is on the command
line, in the terminal, in the debrief, in the trends and on the bring-up sheet."""

from __future__ import annotations

import csv
import importlib
import json
import sys
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from coach.cli import main
from coach.sprint.brief.house_rules import house_file, house_rules
from coach.sprint.brief.loading import load_brief
from coach.sprint.clock import ManualClock
from coach.sprint.commands import Draw, End, RemoveCalculation, SaveCalculation
from coach.sprint.keys import CalculationKey
from coach.sprint.session import start_sprint
from coach.terminal.screens.calculator import CalculatorScreen
from phases.kit import catalogue
from phases.kit.inputs import Given
from tests.terminal.driving import START, begun, driven

FILE = '''
"""Bleeder: how long until a rail is discharged? Source: own arithmetic of a capacitor."""

from __future__ import annotations

from phases.kit import Bench, Bound, Calculator, Part, Quantity, SupplyVoltage, below, limit, output
from phases.kit import arrays as np
from phases.kit.arrays import Array


class Bleeder(
    Calculator, name="bleeder", title="Bleeder resistor", per="rail", source="own arithmetic",
):
    """How long until a rail is discharged?"""

    V = SupplyVoltage("rail", default="5 V", ledger="rail.{rail}.voltage")
    C = Quantity("F", "capacitance", default="100 uF")
    R = Quantity("Ω", "bleeder", default="1 kΩ ± 5 %")
    t = Quantity("s", "time it may take", default="1 s")

    @output("V", "left a second after power-off", publishes="rail.{rail}.left", bench=Bench(
        "voltage",
        title="{rail} a second after power-off",
        where="the bleeder of {rail}",
        first="The bleeder: value, fitted at all",
        ends="high",
        when={"regulator": "linear"},
    ))
    def V_left(self) -> Array:
        return self.V * np.exp(-1.0 / (self.R * self.C))

    @output("s", "time to a tenth")
    def t_10(self) -> Array:
        return self.R * self.C * np.log(10.0)

    @limit("Discharge", unit="s")
    def discharge(self) -> Bound:
        return below(self.t_10, self.t)

    def parts(self) -> tuple[Part, ...]:
        return (Part("R", self.text("R"), "across " + self.inputs.names.get("rail", "the rail")),)
'''


RULE = """
[[item]]
id = "house-bleeder"
phase = "regulation"
statement = "Each linear rail has its bleeder"
why = "The rail stays up after power-off"
severity = "dead board"
stage = "schematic"
per = "rail"
when = [{ regulator = "linear" }]
asks = "regulator"
met_by = ["calculated"]
cites = ["bleeder:discharge"]
confirm_s = 6
left_out_min = 12
reopened_by = []
source = "our own bench"
"""
"""What a team writes once it has the calculator: an item that it proves."""


@pytest.fixture
def planted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The file is in the folder of its phase, as far as Python looks; gone again afterwards."""
    (tmp_path / "regulation").mkdir()
    (tmp_path / "regulation" / "bleeder.py").write_text(FILE, encoding="utf-8")
    phase = importlib.import_module("phases.regulation")
    monkeypatch.setattr(phase, "__path__", [*phase.__path__, str(tmp_path / "regulation")])
    for cached in (catalogue._in_package, catalogue.calculators):
        cached.cache_clear()
    yield
    monkeypatch.undo()
    sys.modules.pop("phases.regulation.bleeder", None)
    for cached in (catalogue._in_package, catalogue.calculators):
        cached.cache_clear()


@pytest.fixture
def journal(planted: None, tmp_path: Path) -> Path:
    """A sprint in which it was saved, and left undrawn."""
    given = {"C": Given("220 uF", "hand")}
    with begun(tmp_path) as session:
        session.do(SaveCalculation("bleeder", "3v3", given=given))
        session.do(End(accepted=False))
    return tmp_path / "sprint.toml"


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(words) in (0, 1)
    return capsys.readouterr().out


def test_it_is_on_the_command_line(planted: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert "bleeder" in printed(capsys, "calc")
    said = printed(capsys, "calc", "bleeder", "C=470uF")
    assert "Bleeder resistor" in said
    answer = json.loads(printed(capsys, "calc", "bleeder", "C=470uF", "--json"))
    assert answer["calculator"] == "bleeder"


async def test_it_is_in_the_terminal(planted: None, tmp_path: Path) -> None:
    async with driven(begun(tmp_path), size=(100, 48)) as drive:
        await drive.press("l", "end", "enter")  # the last choice: all calculators
        assert "Bleeder resistor 3v3" in drive.text
        await drive.press("escape", "colon")
        await drive.type("bleeder 3.3V 220u")
        await drive.press("enter")
        assert "time to a tenth 507 ms  pass" in drive.app.status[0]
        await drive.show(CalculatorScreen(CalculationKey.of("bleeder", "3v3")))
        assert "left a second after power-off" in drive.text
        await drive.press("enter")
        assert "bleeder@3v3" in drive.state.calculations


def test_it_is_in_the_debrief(journal: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = " ".join(printed(capsys, "debrief", str(journal), "--text").split())
    assert "bleeder" in said.lower()
    assert "1 kΩ ± 5 %" in said


def test_what_it_proves_counts_in_the_trends(
    planted: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of two sprints that ask for a bleeder, one has it calculated and drawn."""
    (tmp_path / "briefs").mkdir()
    house_file(tmp_path).write_text(RULE, encoding="utf-8")
    house = house_rules("usb-bench-meter", tmp_path)
    assert [item.id for item in house.items] == ["house-bleeder"], house.status_line
    for name, done, day in (("with", True, 0), ("without", False, 7)):
        clock = ManualClock(START + timedelta(days=day))
        path = tmp_path / f"{name}.toml"
        with start_sprint(load_brief("usb-bench-meter"), path, clock, house=house.items) as session:
            clock.advance(60.0)
            if done:
                session.do(SaveCalculation("bleeder", "3v3", given={"C": Given("220 uF", "hand")}))
                session.do(Draw((("bleeder@3v3", "R"),)))
            clock.advance(5400.0)
            session.do(End(accepted=True))
    names = [str(tmp_path / f"{name}.toml") for name in ("with", "without")]
    (row,) = (
        one
        for one in csv.DictReader(printed(capsys, "trends", *names, "--csv", "-").splitlines())
        if one["item"] == "house-bleeder"
    )
    assert (row["sprints"], row["forgotten"]) == ("2", "1")
    assert row["statement"] == "Each linear rail has its bleeder"
    told = printed(capsys, "trends", *names, "--json", "-")
    went = [
        item
        for sprint in json.loads(told)["sprints"]
        for item in sprint["items"]
        if item["item"] == "house-bleeder"
    ]
    assert [(item.get("met", 0), item.get("open", 0)) for item in went] == [(1, 0), (0, 1)]


def test_it_is_on_the_bring_up_sheet(journal: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # 3.399 V exp(-1 s / (1.05 kΩ x 220 µF)) = 44.8 mV at most.
    steps = json.loads(printed(capsys, "bringup", str(journal), "--json", "-"))["steps"]
    (step,) = (one for one in steps if one["id"] == "rail.3v3.left")
    assert step["title"] == "3v3 a second after power-off"
    assert step["expected"]["high"] == pytest.approx(0.0449, abs=2e-4)
    assert (step["section"], step["tool"]) == ("voltage", "voltmeter")
    assert step["basis"] == "calculated"


def test_it_is_wanted_on_the_sheet_of_a_board_on_which_nobody_saved_it(
    planted: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with begun(tmp_path) as session:
        session.do(SaveCalculation("bleeder", "3v3"))
        session.do(RemoveCalculation("bleeder@3v3"))
        session.do(End(accepted=False))
    steps = json.loads(printed(capsys, "bringup", str(tmp_path / "sprint.toml"), "--json", "-"))
    wanted = {one["id"]: one["missing"] for one in steps["steps"]}
    assert wanted["rail.3v3.left"] == "Bleeder (Main supply) was not saved"


def test_it_is_nowhere_without_its_file() -> None:
    assert "bleeder" not in catalogue.calculators()
