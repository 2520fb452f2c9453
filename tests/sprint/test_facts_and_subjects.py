"""What the board is can change in the middle: items come and go, and nothing met is lost."""

from __future__ import annotations

import pytest

from coach.sprint.brief.loading import load_brief, parse_brief
from coach.sprint.commands import (
    AddSubject,
    Command,
    DeclareValue,
    DropFeature,
    DropSubject,
    Meet,
    NoteChange,
    RestoreFeature,
    SetFact,
    Undo,
)
from coach.sprint.events.board import FactSet, ValueDeclared
from coach.sprint.ledger.brief_values import board_values
from coach.sprint.state import MET, NOT_HERE, OPEN, REOPENED
from phases.kit.cards import load_part
from tests.sprint.conftest import Begin, Bench
from tests.sprint.lamp import BRIEF_TEXT

CONSUMERS = "board.consumers"


def consumers(bench: Bench) -> list[str]:
    return [row["consumer"] for row in board_values(bench.state)[CONSUMERS]]


def rail(bench: Bench, name: str) -> dict[str, str]:
    rows: list[dict[str, str]] = board_values(bench.state)["board.rails"]
    return next(row for row in rows if row["rail"] == name)


# ---- facts -----------------------------------------------------------------------------------


def test_linear_becomes_switching_and_items_come_and_go(bench: Bench) -> None:
    bench.do(Meet("enough-left@3v3", "data sheet", page="page 7"))
    bench.do(SetFact("regulator", "switching", "3v3"))
    assert bench.status("enough-left@3v3") == NOT_HERE
    assert bench.status("enough-left@1v8") == OPEN
    assert bench.status("output-seen@3v3") == OPEN


def test_nothing_met_is_lost_when_a_fact_goes_and_comes_back(bench: Bench) -> None:
    bench.do(Meet("enough-left@3v3", "data sheet", page="page 7"))
    bench.do(Meet("output-seen@3v3"))
    before = dict(bench.state.items)
    bench.do(SetFact("regulator", "none", "3v3"))
    assert bench.status("output-seen@3v3") == NOT_HERE
    bench.do(SetFact("regulator", "linear", "3v3"))
    assert bench.state.items == before


def test_a_fact_that_turned_back_into_another_leaves_a_doubt(bench: Bench) -> None:
    bench.do(Meet("output-seen@3v3"))
    bench.do(SetFact("regulator", "none", "3v3"))
    bench.do(SetFact("regulator", "switching", "3v3"))
    row = bench.row("output-seen@3v3")
    assert row.state is not None
    assert (row.status, row.state.doubt) == (REOPENED, True)
    assert row.state.because == "regulator of 3v3: linear -> switching"


def test_a_fact_that_only_became_known_leaves_no_doubt(bench: Bench) -> None:
    bench.do(Meet("strap-source"))
    bench.do(SetFact("strap_shared", True))
    assert bench.status("strap-source") == MET


def test_a_fact_of_one_rail_leaves_the_other_alone(bench: Bench) -> None:
    bench.do(Meet("output-seen@3v3"))
    bench.do(Meet("output-seen@1v8"))
    bench.do(SetFact("regulator", "switching", "1v8"))
    assert bench.status("output-seen@3v3") == MET
    assert bench.status("output-seen@1v8") == REOPENED


@pytest.mark.parametrize(
    "command, sentence",
    [
        (SetFact("regulatr", "linear", "3v3"), "There is no fact 'regulatr'. Nearest: regulator."),
        (
            SetFact("regulator", "magic", "3v3"),
            "regulator: 'magic' is none of the choices. "
            "One of: none, linear, switching, step-up, switch.",
        ),
        (
            SetFact("second_supply", "yes"),
            "second_supply: 'yes' is neither yes nor no. true or false.",
        ),
        (
            SetFact("regulator", "none"),
            "regulator is a fact of a rail. Say of which: vin, 3v3, 1v8.",
        ),
        (
            SetFact("regulator", "none", "uart1"),
            "regulator: There is no rail 'uart1'. Known: 1v8, 3v3, vin.",
        ),
        (SetFact("regulator", "none", "5v"), "regulator: There is no rail '5v'."),
        (SetFact("second_supply", True, "3v3"), "second_supply is a fact of the board, not of 3v3"),
        (SetFact("second_supply", False), "second_supply: Already set."),
        (NoteChange("weather"), "There is no change 'weather'. Known: "),
    ],
)
def test_a_fact_that_cannot_be_is_refused(bench: Bench, command: Command, sentence: str) -> None:
    assert bench.refused(command).startswith(sentence.removesuffix("."))


def test_the_table_of_rails_follows_facts_and_windows(bench: Bench) -> None:
    assert rail(bench, "3v3") == {
        "rail": "3v3",
        "parent": "vin",
        "kind": "linear",
        "voltage": "3.3 V ± 20 %",
        "rating": "300 mA",
    }
    bench.do(SetFact("regulator", "switching", "3v3"))
    bench.do(DeclareValue("rail.3v3.window", "3.0 .. 3.6 V"))
    bench.do(DeclareValue("rail.3v3.rating", "1 A"))
    assert rail(bench, "3v3") == {
        "rail": "3v3",
        "parent": "vin",
        "kind": "switching",
        "voltage": "3.0 .. 3.6 V",
        "rating": "1 A",
    }
    said = bench.refused(DeclareValue("board.rails", [{"rail": "3v3"}]))
    assert said == "The table of rails follows the rails. Change a rail's own window or rating."


def test_the_layers_are_one_number_as_value_and_as_fact(bench: Bench) -> None:
    (event, *_) = bench.events(DeclareValue("board.layers", "4"))
    assert event == FactSet(fact="layers", value=4.0)
    assert board_values(bench.state)["board.layers"] == "4"


# ---- subjects --------------------------------------------------------------------------------


def test_a_rail_can_be_added_in_the_middle_with_its_items(bench: Bench) -> None:
    said = bench.do(
        AddSubject(
            "5v",
            "rail",
            "vin",
            "Lamp supply",
            {"regulator": "switching"},
            {"voltage": "5 V ± 5 %", "current": "1 A"},
        )
    )
    assert said == "5v is on the board now"
    assert bench.row("output-seen@5v").applies is True
    assert bench.row("output-seen@5v").name == "The output seen is seen to (Lamp supply)"
    assert bench.status("enough-left@5v") == NOT_HERE
    assert rail(bench, "5v")["kind"] == "switching"
    assert board_values(bench.state)["rail.5v.window"] == "5 V ± 5 %"


def test_a_load_that_is_added_is_counted(bench: Bench) -> None:
    bench.do(AddSubject("fan", "load", title="Fan", values={"typical": "20 mA", "peak": "50 mA"}))
    row = board_values(bench.state)[CONSUMERS][-1]
    assert row == {"consumer": "Fan", "rail": "3v3", "typical": "20 mA", "peak": "50 mA"}
    assert bench.state.subjects["fan"].parent == "3v3"  # the microcontroller's where none is named
    assert board_values(bench.state)["load.fan.peak"] == "50 mA"
    assert board_values(bench.state)["load.fan.typical"] == "20 mA"
    bench.do(DropSubject("fan"))
    assert "load.fan.peak" not in board_values(bench.state)


def test_a_rail_without_a_window_yet_can_be_given_one_later(bench: Bench) -> None:
    bench.do(AddSubject("5v", "rail", "vin"))
    assert [row["rail"] for row in board_values(bench.state)["board.rails"]][-1] == "1v8"
    bench.do(DeclareValue("rail.5v.window", "5 V"))
    assert rail(bench, "5v")["voltage"] == "5 V"


@pytest.mark.parametrize(
    "command, sentence",
    [
        (AddSubject("3v3", "rail"), "3v3 is on this board already"),
        (AddSubject("5 V", "rail"), "'5 V' is not a name"),
        (AddSubject("5v", "tail"), "There is no kind of subject 'tail'. Nearest: rail"),
        (AddSubject("5v", "rail", "12v"), "There is no rail '12v'"),
        (AddSubject("fan", "load", "uart1"), "There is no rail 'uart1'"),
        (AddSubject("5v", "rail", facts={"bus_kind": "can"}), "bus_kind is a fact of a bus, not"),
        (AddSubject("5v", "rail", facts={"second_supply": True}), "second_supply is a fact of a b"),
        (AddSubject("5v", "rail", values={"voltage": "5 A"}), "rail.5v.window"),
        (AddSubject("5v", "rail", values={"frequency": "5 V"}), "There is no value of a rail 'fr"),
        (AddSubject("fan", "load", values={"typical": "1 V", "peak": "1 A"}), "board.consumers"),
        (AddSubject("5v", "rail", title="x" * 500), "Too long: 400 characters at most"),
    ],
)
def test_a_subject_that_cannot_be_is_refused(bench: Bench, command: Command, sentence: str) -> None:
    assert bench.refused(command).startswith(sentence)


def test_a_dropped_subject_takes_its_calculations_and_its_current_along(bench: Bench) -> None:
    bench.save("series-resistor", "1v8", R="1 Ω")
    bench.save("series-resistor", "3v3")
    bench.do(DropSubject("1v8"))
    assert list(bench.state.calculations) == ["series-resistor@3v3"]
    assert "output-seen@1v8" not in bench.state.by_key
    assert "rail.1v8.window" not in board_values(bench.state)
    assert consumers(bench) == ["mcu", "Lamp"]
    bench.do(DropSubject("lamp"))
    assert consumers(bench) == ["mcu"]
    bench.do(DropSubject("mcu"))
    assert consumers(bench) == []


def test_a_declared_table_of_consumers_loses_what_is_dropped(bench: Bench) -> None:
    rows = [
        {"consumer": "mcu", "rail": "3v3", "typical": "9 mA", "peak": "9 mA"},
        {"consumer": "Lamp", "rail": "3v3", "typical": "9 mA", "peak": "9 mA"},
    ]
    bench.do(DeclareValue(CONSUMERS, rows))
    assert board_values(bench.state)["load.lamp.peak"] == "9 mA"
    bench.do(DropSubject("lamp"))
    assert consumers(bench) == ["mcu"]
    assert "load.lamp.peak" not in board_values(bench.state)
    bench.do(Undo())
    assert consumers(bench) == ["mcu", "Lamp"]


def test_the_current_of_a_load_is_that_of_the_one_row_called_so(bench: Bench) -> None:
    row = {"consumer": "Lamp", "rail": "3v3", "typical": "9 mA", "peak": "9 mA"}
    assert board_values(bench.state)["load.lamp.peak"] != "9 mA"
    bench.do(DeclareValue(CONSUMERS, [row, {**row, "consumer": "other", "peak": "8 mA"}]))
    assert board_values(bench.state)["load.lamp.peak"] == "9 mA"
    assert "load.mcu.peak" not in board_values(bench.state)
    bench.do(DeclareValue(CONSUMERS, [row, row]))
    assert "load.lamp.peak" not in board_values(bench.state)


@pytest.mark.parametrize(
    "subject, sentence",
    [
        ("vin", "vin is required."),
        ("3v3", "3v3 is required."),
        ("5v", "There is no subject '5v'. Known: 1v8, 3v3, "),
    ],
)
def test_what_the_board_stands_on_is_not_dropped(bench: Bench, subject: str, sentence: str) -> None:
    assert bench.refused(DropSubject(subject)).startswith(sentence)


def test_a_rail_on_which_something_hangs_is_not_dropped(bench: Bench) -> None:
    bench.do(AddSubject("fan", "load", "1v8"))
    assert bench.refused(DropSubject("1v8")) == "1v8 still feeds fan. Drop these first."


# ---- features --------------------------------------------------------------------------------


def test_a_dropped_feature_takes_its_subjects_and_facts_along(bench: Bench) -> None:
    bench.do(SetFact("bus_kind", "uart", "uart1"))
    bench.do(DropFeature("talk"))
    assert "console-wiring@uart1" not in bench.state.by_key
    assert bench.state.knowledge.get("console") is False
    assert bench.refused(DropFeature("talk")) == "Console is dropped already."
    assert bench.refused(DropFeature("light")).startswith("Light is required by the brief.")
    assert "Nearest: talk" in bench.refused(DropFeature("talks"))


def test_a_restored_feature_brings_back_what_was_met_and_what_was_not_known(bench: Bench) -> None:
    bench.do(SetFact("bus_kind", "uart", "uart1"))
    bench.do(Meet("console-wiring@uart1"))
    bench.do(DropFeature("talk"))
    bench.do(RestoreFeature("talk"))
    assert bench.status("console-wiring@uart1") == MET
    assert bench.state.knowledge.get("console") is None
    assert bench.refused(RestoreFeature("talk")) == "Console is not dropped."


def test_a_restored_feature_brings_back_the_fact_as_it_was_said(bench: Bench) -> None:
    bench.do(SetFact("console", True))
    bench.do(DropFeature("talk"))
    bench.do(RestoreFeature("talk"))
    assert bench.state.knowledge.get("console") is True


def test_a_fact_that_was_said_anew_meanwhile_stays(bench: Bench) -> None:
    bench.do(DropFeature("talk"))
    bench.do(SetFact("console", True))
    bench.do(RestoreFeature("talk"))
    assert bench.state.knowledge.get("console") is True


def test_what_was_dropped_twice_goes_back_to_the_last_time(bench: Bench) -> None:
    bench.do(DropFeature("talk"))
    bench.do(Undo())
    bench.do(SetFact("console", True))
    bench.do(DropFeature("talk"))
    bench.do(RestoreFeature("talk"))
    assert bench.state.knowledge.get("console") is True


def test_a_drop_that_was_taken_back_does_not_count(bench: Bench) -> None:
    bench.do(DropFeature("talk"))
    bench.do(RestoreFeature("talk"))
    bench.do(SetFact("console", True))
    bench.do(DropFeature("talk"))
    for _ in range(3):
        bench.do(Undo())
    assert bench.state.dropped == {"talk"}
    bench.do(RestoreFeature("talk"))
    assert bench.state.knowledge.get("console") is None


def test_a_declared_table_of_consumers_gets_back_what_is_restored(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    rows = [{**row, "duty": "50 %"} for row in board_values(bench.state)[CONSUMERS]]
    bench.do(DeclareValue(CONSUMERS, rows))
    bench.do(DropFeature("show"))
    assert "Display module" not in consumers(bench)
    bench.do(RestoreFeature("show"))
    assert consumers(bench)[-1] == "Display module"
    assert len(consumers(bench)) == len(rows)


# ---- values of the brief ---------------------------------------------------------------------


@pytest.mark.parametrize(
    "name, value, sentence",
    [
        ("rail.3v3.window", "3.3 A", "rail.3v3.window: "),
        ("rail.3v3.window", "", "rail.3v3.window: A value is missing"),
        ("rail.3v3.window", "3,3 V", "rail.3v3.window"),
        ("rail.3v3.window", "230 V", "rail.3v3.window"),
        ("rail.3v3.window", [{"voltage": "3 V"}], "rail.3v3.window: This is one value, not a ta"),
        ("rail.3v3.rating", "1 V", "rail.3v3.rating: "),
        ("source.current", "2 V", "source.current"),
        ("board.ambient", "5 V", "board.ambient"),
        ("clock.main.frequency", "8 V", "clock.main.frequency: "),
        ("clock.main.tolerance", "8 V", "clock.main.tolerance: "),
        ("load.lamp.peak", "1 A", "load.lamp.peak follows the table of loads"),
        ("board.layers", "two", "board.layers"),
        ("board.mcu", "no-such-part", "board.mcu"),
        ("board.mcu", "gauge-16", "board.mcu: Part card gauge-16 is a"),
        ("board.capability", "no-such-card", "board.capability"),
        ("board.mcu_rail", "5v", "board.mcu_rail: There is no rail '5v'"),
        ("board.consumers", "20 mA", "board.consumers: This is a table, not one value"),
        (
            "board.consumers",
            [{"consumer": "x", "rail": "9v", "typical": "1 mA", "peak": "1 mA"}],
            "board.consumers, row 1: There is no rail '9v'",
        ),
        (
            "board.consumers",
            [{"consumer": "x", "rail": "3v3", "typical": "1 V", "peak": "1 A"}],
            "board.consumers, consumers, row 1, typical",
        ),
        ("board.consumers", 7, "board.consumers: This is a table"),
        ("rail.5v.window", "5 V", "There is no value of the brief 'rail.5v.window'. Nearest: "),
        ("rail.3v3.voltage", "5 V", "There is no value of the brief 'rail.3v3.voltage'"),
    ],
)
def test_a_value_its_readers_cannot_read_is_refused(
    bench: Bench, name: str, value: object, sentence: str
) -> None:
    bench.save("series-resistor", "3v3")
    bench.save("series-resistor", "1v8", V_least="1 V", R="1 Ω")
    said = bench.refused(DeclareValue(name, value))
    assert said.startswith(sentence)
    assert said.count("\n") == 0


def test_mains_is_refused_in_words(bench: Bench) -> None:
    assert "mains" in bench.refused(DeclareValue("rail.vin.window", "230 V AC"))
    assert "mains" in bench.refused(DeclareValue("rail.vin.window", "90 V"))


def test_a_value_that_is_so_already_is_no_change(bench: Bench) -> None:
    said = bench.refused(DeclareValue("rail.3v3.window", " 3.3 V  ± 20 % "))
    assert said == "rail.3v3.window: Already set."


def test_the_rail_of_the_microcontroller_can_be_another(bench: Bench) -> None:
    bench.do(DeclareValue("board.mcu_rail", "1v8"))
    assert bench.state.names_of("")["mcu_rail"] == "1v8"
    assert bench.refused(DropSubject("1v8")) == "1v8 is required."


def test_another_microcontroller_brings_the_answers_of_its_card(begin: Begin) -> None:
    bench = begin(load_brief("usb-bench-meter"))
    before = load_part("brindle-48").facts()
    bench.do(SetFact("core_pin", not before["core_pin"]))  # said otherwise: it stays
    events = bench.events(DeclareValue("board.mcu", "sedge-28"))
    assert isinstance(events[0], ValueDeclared)
    after = load_part("sedge-28").facts()
    changed = {fact for fact in after if after[fact] != before.get(fact)} - {"core_pin"}
    assert {e.fact for e in events if isinstance(e, FactSet)} == changed
    assert all(bench.state.knowledge.get(fact) == after[fact] for fact in changed)
    assert bench.state.knowledge.get("core_pin") is not before["core_pin"]


def test_a_part_card_takes_the_place_of_counted_pins(begin: Begin) -> None:
    counted = 'mcu_rail = "3v3"\npins = { supply = 2, ground = 2 }'
    bench = begin(parse_brief(BRIEF_TEXT.replace('mcu_rail = "3v3"', counted), "lamp.toml"))
    assert len(board_values(bench.state)["board.pins"]) == 2
    bench.do(DeclareValue("board.mcu", "sedge-28"))
    assert "board.pins" not in board_values(bench.state)
