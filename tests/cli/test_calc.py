"""`coach calc`: one JSON object a calculation, text for a person, and exit codes to build on."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from phases.kit.catalogue import calculators
from phases.kit.fields import Table
from tests.cli.conftest import Coach

INPUT = {"text", "min", "typ", "max", "unit", "origin"}
FIGURE = {"min", "typ", "max", "unit"}
LIMIT = {"name", "verdict", "value", "bound", "margin", "unit", "scenario"}
WHOLE = {
    "calculator",
    "inputs",
    "outputs",
    "limits",
    "remedies",
    "drivers",
    "picks",
    "parts",
    "findings",
}
ORIGINS = {"brief", "ledger", "hand", "proposed", "default", "blank"}
VERDICTS = {"pass", "marginal", "fail", "not applicable"}


def strictly(text: str) -> Any:
    """JSON as the standard has it: no NaN and no infinity. RFC 8259, section 6."""

    def refused(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    return json.loads(text, parse_constant=refused)


# --- for a program ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", calculators())
def test_every_calculator_runs_as_it_stands_and_answers_in_one_object(
    coach: Coach, name: str
) -> None:
    answer = coach("calc", name, "--json")
    assert answer.code in (0, 1)
    assert answer.err == ""
    found = strictly(answer.out)
    assert set(found) >= WHOLE
    assert found["calculator"] == name
    assert list(found["inputs"]) == list(calculators()[name].fields)
    for entry in found["inputs"].values():
        assert set(entry) >= INPUT
        assert entry["origin"] in ORIGINS
    for entry in found["outputs"].values():
        assert "rows" in entry or set(entry) >= FIGURE
    for entry in found["limits"]:
        assert set(entry) >= LIMIT
        assert entry["verdict"] in VERDICTS
    failing = any(entry["verdict"] == "fail" for entry in found["limits"])
    assert answer.code == (1 if failing else 0)


@pytest.mark.parametrize("name", calculators())
def test_every_calculator_can_be_read_by_a_person(coach: Coach, name: str) -> None:
    answer = coach("calc", name)
    assert answer.code in (0, 1)
    kind = calculators()[name]
    assert answer.out.splitlines()[0] == f"{kind.title} ({name})"
    for field in kind.fields.values():
        assert field.title in answer.out
    for rows in (field.default for field in kind.fields.values() if isinstance(field, Table)):
        for cell in (cell for row in rows for cell in row.values() if cell):
            assert str(cell) in answer.out


def test_numbers_are_si_and_inputs_say_where_they_come_from(coach: Coach) -> None:
    found = strictly(coach("calc", "indicator", "3.3V", "2.1 V", "I=2mA", "--json").out)
    current = found["inputs"]["I"]
    assert (current["text"], current["typ"], current["unit"]) == ("2mA", 0.002, "A")
    assert current["origin"] == "hand"
    assert found["inputs"]["R"]["origin"] == "proposed"
    assert found["inputs"]["V_sw"]["origin"] == "default"
    # Ohm's law: 3.3 V less 2.1 V over 2 mA.
    assert found["outputs"]["R_0"]["typ"] == pytest.approx(600.0)


def test_a_fail_comes_with_its_remedy_and_exit_code_1(coach: Coach) -> None:
    answer = coach("calc", "linear-regulator", "I_out=500 mA", "--json")
    assert answer.code == 1
    found = strictly(answer.out)
    assert any(entry["verdict"] == "fail" for entry in found["limits"])
    remedy = next(entry for entry in found["remedies"] if entry["field"] == "I_out")
    most = remedy["intervals"][0]["max"]
    assert coach("calc", "linear-regulator", f"I_out={most * 1000} mA").code == 0


def test_an_output_along_a_table_has_rows(coach: Coach) -> None:
    found = strictly(coach("calc", "load-budget", "--json").out)
    rails = [row["rail"] for row in found["inputs"]["rails"]["rows"]]
    assert [row["row"] for row in found["outputs"]["peak"]["rows"]] == rails


def test_the_list_for_a_program_declares_everything(coach: Coach) -> None:
    listed = strictly(coach("calc", "--json").out)
    assert [entry["calculator"] for entry in listed] == list(calculators())
    for entry in listed:
        kind = calculators()[entry["calculator"]]
        assert entry["source"] == kind.source
        assert list(entry["fields"]) == list(kind.fields)
        for name, field in entry["fields"].items():
            assert {"kind", "title", "default"} <= set(field)
            assert ("unit" in field) == (field["kind"] in ("quantity", "window")), name
            assert ("choices" in field) == (field["kind"] == "choice"), name
            assert ("columns" in field) == isinstance(kind.fields[name], Table), name


def test_a_listed_default_means_what_the_calculation_then_uses(coach: Coach) -> None:
    for entry in strictly(coach("calc", "--json").out):
        found = strictly(coach("calc", entry["calculator"], "--json").out)
        for name, field in entry["fields"].items():
            used = found["inputs"][name]
            if field["kind"] == "quantity" and used["origin"] == "default":
                assert used["text"] == field["default"]
                assert used["unit"] == field["si_unit"]


def test_the_list_for_a_person_names_each_with_its_question(coach: Coach) -> None:
    answer = coach("calc")
    assert answer.code == 0
    for name in calculators():
        assert any(line.split()[:1] == [name] for line in answer.out.splitlines())


# --- for a person -----------------------------------------------------------------------------


def test_text_gives_values_verdicts_parts_and_the_source(coach: Coach) -> None:
    answer = coach("calc", "indicator", "3.3V", "2.1V", "2mA")
    assert "620 Ω ± 5 %" in answer.out
    assert "To draw" in answer.out
    lines = answer.out.splitlines()
    assert lines[1] == "Passes; tightest margin: LED current, 28 mA."
    assert lines[-2:] == ["Source", f"  {calculators()['indicator'].source}"]
    assert any(line.split() == ["R_0", "R_0", "=", "V_R", "/", "I"] for line in lines)


def test_text_says_what_would_fix_a_fail(coach: Coach) -> None:
    answer = coach("calc", "linear-regulator", "I_out=500mA")
    assert answer.code == 1
    assert "  fail      Junction 205 °C, limit 125 °C." in answer.out
    assert "What would fix it" in answer.out
    assert "Passes with load current" in answer.out
    assert answer.out.splitlines()[1].startswith("Fails: Junction 205 °C, limit 125 °C.")


def test_inputs_stand_in_columns(coach: Coach) -> None:
    lines = coach("calc", "indicator").out.splitlines()
    rows = lines[
        lines.index("Inputs") + 1 : next(n for n, one in enumerate(lines) if one[:7] == "Outputs")
    ]
    fields = calculators()["indicator"].fields
    groups = [row for row in rows if row.split()[0] not in fields]
    assert [row.strip() for row in groups][:2] == ["Your board", "The part, by its data sheet"]
    rows = [row for row in rows if row not in groups]
    at = {row.index(fields[row.split()[0]].title) for row in rows}
    assert len(rows) == len(fields)
    assert len(at) == 1


# --- tables -----------------------------------------------------------------------------------

CSV = "consumer,rail,typical,peak,duty,count\npump,3v3,90 mA,120 mA,100 %,1\n"
TOML = '[[row]]\nconsumer = "pump"\nrail = "3v3"\ntypical = "90 mA"\npeak = "120 mA"\n'


@pytest.mark.parametrize(("suffix", "text"), [("csv", CSV), ("toml", TOML)])
def test_a_table_comes_from_a_file(coach: Coach, tmp_path: Path, suffix: str, text: str) -> None:
    path = tmp_path / f"loads.{suffix}"
    path.write_text(text, encoding="utf-8")
    found = strictly(coach("calc", "load-budget", f"consumers=@{path}", "--json").out)
    assert found["inputs"]["consumers"]["rows"][0]["consumer"] == "pump"
    assert found["inputs"]["consumers"]["origin"] == "hand"
    assert found["outputs"]["peak"]["rows"][1]["typ"] == pytest.approx(0.12)


def test_a_fault_in_a_table_names_file_row_and_column(coach: Coach, tmp_path: Path) -> None:
    path = tmp_path / "loads.csv"
    path.write_text(CSV.replace("120 mA", "120 mV"), encoding="utf-8")
    said = coach("calc", "load-budget", f"consumers=@{path}").sentence
    assert "loads.csv" in said
    assert "row 1, peak" in said


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("loads.toml", "row = 3\n", "row: Found the number 3; expected a list"),
        ("loads.toml", "[[rows]]\n", "Nearest: row"),
        ("loads.toml", "[[row\n", "Not valid TOML"),
        ("loads.toml", '[[row]]\nwhat = "x"\n', "column"),
        ("loads.csv", "consumer,rail,typical,peek\n", "Nearest: peak"),
    ],
)
def test_a_file_that_is_no_table_is_refused(
    coach: Coach, tmp_path: Path, name: str, text: str, says: str
) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    said = coach("calc", "load-budget", f"consumers=@{path}").sentence
    assert name in said
    assert says in said


# --- calls that are wrong ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["indicatr"], "Nearest: indicator"),
        (["indicator", "V_f=2V"], "Nearest: V_F"),
        (["indicator", "V=3.3 A"], "voltage"),
        (["indicator", "V=3,3 V"], "3.3 V"),
        (["indicator", "V=nan"], "V:"),
        (["indicator", "I=-2 mA"], "I:"),
        (["indicator", "driver=lamp"], "Known: pin, rail"),
        (["indicator", "V=1 V", "V=2 V"], "appears twice"),
        (["indicator", *["1"] * 40], "Unexpected value"),
        (["indicator", "V=@loads.csv"], "Only a table"),
        (["load-budget", "consumers=@nowhere.csv"], "nowhere.csv"),
        (["load-budget", "consumers=@"], "folder"),
        (["indicator", "--jsn"], "Nearest: --json"),
        (["indicator", "V=\x1b[31m5"], "V"),
    ],
)
def test_a_wrong_calculation_is_one_sentence_with_a_way_out(
    coach: Coach, words: list[str], says: str
) -> None:
    said = coach("calc", *words).sentence
    assert says in said
    assert "\x1b" not in said


def test_options_may_stand_before_between_and_behind_the_values(coach: Coach) -> None:
    plain = coach("calc", "indicator", "V=5 V", "I=2mA", "--json")
    assert plain.code == 0
    assert coach("calc", "--json", "indicator", "V=5 V", "I=2mA") == plain
    assert coach("calc", "indicator", "V=5 V", "--json", "I=2mA") == plain
